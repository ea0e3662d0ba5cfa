//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package readings

import (
	"errors"
	"fmt"
	"os"
	"syscall"
)

// errLocked means that another open file description holds the lock.
var errLocked = errors.New("in use")

// lock takes the whole file for this open file alone, without waiting. The lock
// ends with the last close, also when the process is killed.
func lock(f *os.File) error {
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case err == nil:
			return nil
		case errors.Is(err, syscall.EWOULDBLOCK):
			return errLocked
		case !errors.Is(err, syscall.EINTR):
			return fmt.Errorf("lock %s: %w", f.Name(), err)
		}
	}
}

// swap renames the file aside, which f has open, to the path. The new file was
// locked before, so the path is never without a lock.
func (a *Appender) swap(f *os.File, aside string) error {
	if err := os.Rename(aside, a.path); err != nil {
		f.Close()
		return fmt.Errorf("%s is left as it was: %w", a.name, err)
	}
	a.file.Close() // all that was written to it was synced
	a.file = f
	return nil
}
