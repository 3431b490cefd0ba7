//go:build unix

package embedded

import (
	"os"
	"syscall"
)

// lockFile fails at once when another has the lock, waitLock waits for it.
func lockFile(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) }

func waitLock(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_EX) }
