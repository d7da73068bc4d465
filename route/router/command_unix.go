//go:build unix

package router

import (
	"os/exec"
	"syscall"
)

// endWithChildren makes the end of the context end the program and all that
// it started.
func endWithChildren(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
}
