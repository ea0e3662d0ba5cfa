package app

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"gaugewright/internal/job"
)

// The key is made once, for its owner's eyes alone, and is there again after the
// program was ended.
func TestSigningKey(t *testing.T) {
	data := filepath.Join(t.TempDir(), "workshop.db")
	if key, err := keyFileOf(data).Key(false); key != nil || err != nil {
		t.Fatalf("a key before one was made: %v, %v", key != nil, err)
	}
	// Several programs at once make one.
	keys := make([]string, 8)
	var all sync.WaitGroup
	for i := range keys {
		all.Go(func() {
			key, err := keyFileOf(data).Key(true)
			if err != nil {
				t.Error(err)
				return
			}
			keys[i] = string(key)
		})
	}
	all.Wait()
	for _, k := range keys {
		if k != keys[0] || k == "" {
			t.Fatal("the keys differ")
		}
	}
	path := filepath.Join(filepath.Dir(data), "workshop.signing-key.pem")
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("its permissions are %#o; expected 0600", info.Mode().Perm())
	}
	if list, _ := filepath.Glob(filepath.Join(filepath.Dir(data), ".*.tmp")); len(list) > 0 {
		t.Errorf("left behind: %v", list)
	}
	j := &job.Job{Number: "1", Tanks: []job.Tank{}}
	key, _ := keyFileOf(data).Key(false)
	if err := j.Sign(key, "A. Fitter", fileTime(j)); err != nil || j.Seal != job.Sound {
		t.Errorf("signed with it: %v", err)
	}
}

// A key that others can read or that is damaged isn't used.
func TestSigningKeyRefused(t *testing.T) {
	data := filepath.Join(t.TempDir(), "workshop.db")
	if _, err := keyFileOf(data).Key(true); err != nil {
		t.Fatal(err)
	}
	path := keyFileOf(data).path
	if runtime.GOOS != "windows" {
		if err := os.Chmod(path, 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := keyFileOf(data).Key(true); err == nil || !strings.Contains(err.Error(), "can be read by others") {
			t.Errorf("a key that others can read: %v", err)
		}
	}
	if err := os.WriteFile(path, []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	_ = os.Chmod(path, 0o600)
	if _, err := keyFileOf(data).Key(true); err == nil || !strings.Contains(err.Error(), "no private key in it") {
		t.Errorf("a damaged key: %v", err)
	}
}
