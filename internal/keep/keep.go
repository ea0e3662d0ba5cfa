// Package keep writes files so that a crash, a full disk or a power cut leaves
// the old file or the new one, whole, and never half of one.
package keep

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// File puts data in the place of the file at path: into a new file in the same
// folder, which takes the old one's place once it is safely on disk. A
// symbolic link keeps pointing where it did, and an old file's permissions are
// kept. What isn't a plain file is refused.
func File(path string, data []byte) error {
	target, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		target = path
	} else if err != nil {
		return err
	}
	var mode fs.FileMode // 0 leaves the permissions to the system's custom
	switch info, err := os.Stat(target); {
	case err == nil && !info.Mode().IsRegular():
		return fmt.Errorf("%s: %w", path, ErrNotPlain)
	case err == nil:
		mode = info.Mode().Perm()
	}
	return replace(target, data, mode)
}

// Private is as File, and nobody but the file's owner can read what it writes, not
// for a moment.
func Private(path string, data []byte) error {
	target, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		target = path
	} else if err != nil {
		return err
	}
	if info, err := os.Stat(target); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("%s: %w", path, ErrNotPlain)
	}
	return replace(target, data, 0o600)
}

// ErrNotPlain says that a folder or a device stands where a file was to be
// written.
var ErrNotPlain = errors.New("this is a directory or a device; expected the name of a file")

func replace(path string, data []byte, mode fs.FileMode) (err error) {
	temporary := filepath.Join(filepath.Dir(path), "."+rand.Text()+".tmp")
	// Whoever reads an error knows the file by its own name.
	defer func() {
		var named *fs.PathError
		if errors.As(err, &named) && named.Path == temporary {
			err = &fs.PathError{Op: "write", Path: path, Err: named.Err}
		}
	}()
	first := fs.FileMode(0o666)
	if mode != 0 {
		first = 0o600 // never more than it is to have in the end
	}
	f, err := os.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, first)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			os.Remove(temporary)
		}
	}()
	_, err = f.Write(data)
	if err == nil && mode != 0 {
		err = os.Chmod(temporary, mode) // f.Chmod isn't there on Windows
	}
	if err == nil {
		err = f.Sync()
	}
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = os.Rename(temporary, path)
	}
	if err != nil {
		return err
	}
	return Folder(filepath.Dir(path))
}

// Folder makes names that were just made or changed in a folder last: until
// then a power cut may bring the old ones back. Windows has no such call and
// needs none.
func Folder(path string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	err = d.Sync()
	if closing := d.Close(); err == nil {
		err = closing
	}
	return err
}
