//go:build !(darwin || dragonfly || freebsd || linux || netbsd || openbsd)

package readings

import (
	"errors"
	"os"
)

var errLocked = errors.New("in use")

// lock does nothing here: the standard library has no lock for this system.
func lock(*os.File) error { return nil }

// swap renames the file aside, which f has open, to the path. Both are closed
// for it: Windows renames no open file, nor onto one.
func (a *Appender) swap(f *os.File, aside string) error {
	err := errors.Join(f.Close(), a.file.Close())
	if err == nil {
		err = os.Rename(aside, a.path)
	}
	again, e := openLocked(a.path, a.name)
	if e != nil {
		a.broken = e
		return errors.Join(err, e)
	}
	a.file = again
	return err
}
