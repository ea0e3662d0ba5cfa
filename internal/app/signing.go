package app

import (
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"

	"gaugewright/internal/job"
)

// keyFile is the workshop's key to sign job files with. It stands beside the data
// file and not in it, so that a copy of the jobs, as a backup is one, lets nobody
// sign in the workshop's name.
type keyFile struct {
	path string
	mu   sync.Mutex
	key  ed25519.PrivateKey // once it was read
}

// keyFileOf gives the key that belongs to a data file: workshop.signing-key.pem
// beside workshop.db.
func keyFileOf(data string) *keyFile {
	return &keyFile{path: strings.TrimSuffix(data, filepath.Ext(data)) + ".signing-key.pem"}
}

// Key gives the key. Where there is none yet it is made, or with create false nil
// comes without an error.
func (k *keyFile) Key(create bool) (ed25519.PrivateKey, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.key != nil {
		return k.key, nil
	}
	text, err := os.ReadFile(k.path)
	if errors.Is(err, fs.ErrNotExist) {
		if !create {
			return nil, nil
		}
		if err := k.make(); err != nil {
			return nil, fmt.Errorf("the key to sign with can't be made: %w", err)
		}
		text, err = os.ReadFile(k.path)
	}
	if err != nil {
		return nil, fmt.Errorf("the key to sign with can't be read: %w", err)
	}
	if err := k.private(); err != nil {
		return nil, err
	}
	if k.key, err = job.ParsePrivateKey(text); err != nil {
		return nil, fmt.Errorf("the key to sign with, in %s: %w; put back the file from a copy, or move it away and another key is made", k.path, err)
	}
	return k.key, nil
}

// private sees that nobody else on this machine can read the key. Windows has no
// such bits; there the folder is the user's own.
func (k *keyFile) private() error {
	info, err := os.Stat(k.path)
	if err != nil || runtime.GOOS == "windows" || info.Mode().Perm()&0o077 == 0 {
		return err
	}
	return fmt.Errorf("the key to sign with, in %s, can be read by others (permissions %#o); make it readable to its owner alone: chmod 600", k.path, info.Mode().Perm())
}

// make writes a new key, whole or not at all; one that another program made in the
// meantime stands.
func (k *keyFile) make() (err error) {
	text, _, err := job.NewKey(rand.Reader)
	if err != nil {
		return err
	}
	temporary := filepath.Join(filepath.Dir(k.path), "."+rand.Text()+".tmp")
	f, err := os.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.Remove(temporary)) }()
	_, err = f.Write(text)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Link(temporary, k.path); err != nil && !errors.Is(err, fs.ErrExist) {
		// A file system without links; then the last of two that come at once stands.
		return os.WriteFile(k.path, text, 0o600)
	}
	return nil
}
