package readings

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// follow gives the path with its symbolic links followed, since the file is
// swapped by name and the link has to stay.
func follow(path string) (string, error) {
	if path == stdin {
		return "", fmt.Errorf("readings can't be added to %s; name a file", stdinName)
	}
	target, err := filepath.EvalSymlinks(path)
	if errors.Is(err, os.ErrNotExist) {
		return path, nil
	}
	return target, err
}

// openLocked opens or creates a regular file for adding, and locks it. name is
// for messages.
func openLocked(path, name string) (*os.File, error) {
	// Between opening and locking, a strike by another process may have swapped
	// the file; then the lock is on one that no path leads to any more.
	for range 100 {
		// Looked at first: opening a pipe would wait, or set off its reader.
		if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
			what := "not a regular file"
			if info.IsDir() {
				what = "a directory"
			}
			return nil, &Error{Name: name, Msg: "this is " + what + ", so no readings can be added to it; name a CSV file"}
		}
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o666)
		if err != nil {
			return nil, err
		}
		if err := lock(f); err != nil {
			f.Close()
			if errors.Is(err, errLocked) {
				return nil, fmt.Errorf("%s is open for adding readings elsewhere; close it there first: %w", name, err)
			}
			return nil, err
		}
		opened, err := f.Stat()
		if err != nil {
			f.Close()
			return nil, err
		}
		if there, err := os.Stat(path); err == nil && os.SameFile(opened, there) {
			return f, nil
		}
		f.Close()
	}
	return nil, fmt.Errorf("%s is being replaced again and again by another program; try again", name)
}
