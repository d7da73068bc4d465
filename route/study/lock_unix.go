//go:build unix

package study

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// removesOpenFiles: a file is removed while its lock is held, so that nobody
// locks it in between.
const removesOpenFiles = true

// acquire locks a file by flock(2), or errLocked.
func acquire(file *os.File) error {
	for {
		err := unix.Flock(int(file.Fd()), unix.LOCK_EX|unix.LOCK_NB)
		switch {
		case errors.Is(err, unix.EINTR):
		case errors.Is(err, unix.EWOULDBLOCK):
			return errLocked
		default:
			return err
		}
	}
}
