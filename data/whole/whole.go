// Package whole writes files that appear under their names only when all of
// them is written: a temporary file in the same file system is flushed to the
// disk and renamed. On Windows, where a rename that replaces a file is not
// promised to be atomic, that is MoveFileEx with replacement.
package whole

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// File is a file that is being written.
type File struct {
	*os.File
	path string
	done bool
}

// Create begins the file of a name, with the permissions of the file that it
// replaces, else perm less what the user's mask takes away. temp is a folder on
// the same file system.
func Create(path, temp string, perm os.FileMode) (*File, error) {
	old, err := os.Lstat(path)
	replaces := err == nil && old.Mode().IsRegular()
	if replaces {
		perm = old.Mode().Perm()
	}
	file, err := unused(filepath.Join(temp, "."+filepath.Base(path)), perm)
	if err != nil {
		return nil, err
	}
	f := &File{File: file, path: path}
	if replaces {
		if err := file.Chmod(perm); err != nil {
			return nil, errors.Join(err, f.Discard())
		}
	}
	return f, nil
}

// unused creates a file whose name begins with prefix. os.CreateTemp would leave
// the mask out of account.
func unused(prefix string, perm os.FileMode) (*os.File, error) {
	for {
		file, err := os.OpenFile(fmt.Sprintf("%s%016x", prefix, rand.Uint64()), os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
		if !errors.Is(err, fs.ErrExist) {
			return file, err
		}
	}
}

// Keep gives the file its name.
func (f *File) Keep() error {
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), f.path); err != nil {
		return err
	}
	f.done = true
	return nil
}

// Discard removes what has not been kept.
func (f *File) Discard() error {
	if f.done {
		return nil
	}
	f.done = true
	f.Close() // closed already where keeping failed
	return os.Remove(f.Name())
}

// Write writes a file of a text.
func Write(path, temp string, text []byte, perm os.FileMode) error {
	f, err := Create(path, temp, perm)
	if err != nil {
		return err
	}
	if _, err := f.File.Write(text); err != nil {
		return errors.Join(err, f.Discard())
	}
	if err := f.Keep(); err != nil {
		return errors.Join(err, f.Discard())
	}
	return nil
}
