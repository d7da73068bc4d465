package study

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// removesOpenFiles: Windows removes no file that is open.
const removesOpenFiles = false

// lockedAt is where the byte is that is locked: behind what stands in the file,
// because a locked byte cannot be read by others.
const lockedAt = 1 << 20

// acquire locks a file by LockFileEx, or errLocked.
func acquire(file *os.File) error {
	err := windows.LockFileEx(windows.Handle(file.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &windows.Overlapped{Offset: lockedAt})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errLocked
	}
	return err
}
