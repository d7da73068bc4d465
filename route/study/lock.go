package study

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"ampleway/data/fault"
)

// LockFile is in a folder of results for as long as a run writes there.
const LockFile = ".lock"

// errLocked is of the lock of a file that another process holds.
var errLocked = errors.New("study: locked")

// folderLock keeps other runs out of a folder of results. The operating system
// holds it for the process and ends it with the process, however that ends: a
// file that a killed run left behind locks nothing. What stands in the file is
// for the message alone.
type folderLock struct {
	file *os.File
	path string
}

// lockFolder makes the folder where there is none and locks it. Where another
// run has it the error is a *fault.Input that names that run.
func lockFolder(folder string) (*folderLock, error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("cannot write %s: %w", folder, err)
	}
	path := filepath.Join(folder, LockFile)
	for {
		file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
		if err != nil {
			return nil, err
		}
		if err := acquire(file); err != nil {
			holder, _ := os.ReadFile(path)
			file.Close()
			if errors.Is(err, errLocked) {
				return nil, inUse(folder, string(holder))
			}
			return nil, fmt.Errorf("cannot lock %s (write to a disk of this machine, then copy): %w", path, err)
		}
		if !isStill(file, path) { // the run before removed it after it was opened here
			file.Close()
			continue
		}
		l := &folderLock{file, path}
		host, _ := os.Hostname()
		text := fmt.Sprintf("process %d on %s\n", os.Getpid(), host)
		if err := errors.Join(file.Truncate(0), writeAt(file, text)); err != nil {
			return nil, errors.Join(fmt.Errorf("cannot write %s: %w", path, err), l.release())
		}
		return l, nil
	}
}

func inUse(folder, holder string) error {
	found := "another run that is writing there"
	if holder = strings.TrimSpace(holder); holder != "" {
		found += " (" + holder + ")"
	}
	return &fault.Input{File: folder, Found: found, Expected: "a folder of its own for each run, or that one to end first"}
}

func writeAt(file *os.File, text string) error {
	_, err := file.WriteAt([]byte(text), 0)
	return err
}

func isStill(file *os.File, path string) bool {
	held, errHeld := file.Stat()
	named, errNamed := os.Stat(path)
	return errHeld == nil && errNamed == nil && os.SameFile(held, named)
}

// release gives the folder free and removes the file.
func (l *folderLock) release() error {
	if removesOpenFiles {
		return errors.Join(os.Remove(l.path), l.file.Close())
	}
	err := l.file.Close()
	os.Remove(l.path) // fails where the next run has it open already
	return err
}
