package app

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"gaugewright/internal/keep"
	"gaugewright/internal/station"
	"gaugewright/internal/store/sqlite"
)

// Kinds of files in a backup.
const (
	BackupJobs     = sqlite.KindJobs
	BackupReadings = sqlite.KindReadings
	BackupSettings = "settings"
	BackupJobFile  = "job file"
	BackupKey      = "signing key"
)

// Manifest says what is in a backup. It is the first file in it.
type Manifest struct {
	Form  int          `json:"gaugewright_backup"` // 1
	Made  time.Time    `json:"made"`
	Files []BackupFile `json:"files"`
}

// BackupFile is a file in a backup.
type BackupFile struct {
	Name   string `json:"name"` // with slashes, relative
	Kind   string `json:"kind"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
	Layout int    `json:"layout,omitempty"` // of the data files
	Count  int64  `json:"count,omitempty"`  // of jobs or readings
}

const (
	backupForm   = 1
	manifestName = "manifest.json"
	manifestMost = 1 << 20
	mostFiles    = 1000
)

// Backup is what goes into a backup.
type Backup struct {
	Data  string // the workshop's file; "": that of [DataFile], where there is one
	Watch string // the configuration of a watch; "": none
	Env   []string
	Key   bool   // the key that signs, too
	Out   string // the file to write, or a folder to write one into
	Now   time.Time
}

// Make makes a backup while programs go on changing what is in it: all in one file,
// there whole or not at all, and read again after it was written. It gives the
// file's name.
func (b Backup) Make(ctx context.Context) (out string, m Manifest, err error) {
	out = b.Out
	if info, err := os.Stat(out); err == nil && info.IsDir() {
		out = filepath.Join(out, "gaugewright-"+b.Now.UTC().Format("20060102-150405")+".zip")
	}
	if _, err := os.Lstat(out); !errors.Is(err, fs.ErrNotExist) {
		if err == nil {
			err = fmt.Errorf("%s is there already; expected the name of a new file, or a folder", out)
		}
		return out, m, err
	}
	list, err := b.gather()
	if err != nil {
		return out, m, err
	}
	folder, err := os.MkdirTemp(filepath.Dir(out), ".gaugewright-backup-")
	if err != nil {
		return out, m, fmt.Errorf("the backup can't be written: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	m = Manifest{Form: backupForm, Made: b.Now.UTC().Truncate(time.Second)}
	for i := range list {
		if err := list[i].copied(ctx, filepath.Join(folder, fmt.Sprint(i))); err != nil {
			return out, m, err
		}
		m.Files = append(m.Files, list[i].BackupFile)
	}
	packed := filepath.Join(folder, rand.Text())
	if err := pack(packed, m, list); err != nil {
		return out, m, fmt.Errorf("the backup can't be written: %w", err)
	}
	if _, err := readBackup(ctx, packed, ""); err != nil {
		return out, m, fmt.Errorf("the backup was written, and what is read of it isn't the same: %w; is the disk at fault?", err)
	}
	if err := os.Rename(packed, out); err != nil {
		return out, m, err
	}
	return out, m, keep.Folder(filepath.Dir(out))
}

// part is a file on its way into a backup.
type part struct {
	BackupFile
	from string // where it is
	copy string // where its copy is
}

// gather finds what belongs in.
func (b Backup) gather() (list []part, err error) {
	add := func(kind, name, from string) { list = append(list, part{BackupFile{Name: name, Kind: kind}, from, ""}) }
	data := b.Data
	if data == "" {
		if data, err = DataFile(); err != nil && b.Watch == "" {
			return nil, err
		}
	}
	_, missing := os.Stat(data)
	switch {
	case missing == nil:
		add(BackupJobs, filepath.Base(data), data)
	case b.Data != "" || b.Watch == "":
		return nil, fmt.Errorf("there are no jobs to back up: %w; name the workshop's file with --data, or a watch with --watch", missing)
	}
	if b.Key {
		key := keyFileOf(data).path
		if _, err := os.Stat(key); err != nil {
			return nil, fmt.Errorf("there is no key to back up: %w", err)
		}
		add(BackupKey, filepath.Base(key), key)
	}
	if b.Watch != "" {
		c, err := station.Read(b.Watch, b.Env, nil)
		if err != nil {
			return nil, err
		}
		add(BackupSettings, filepath.Base(b.Watch), b.Watch)
		for _, f := range c.Belongings() {
			kind := BackupJobFile
			if f.Data {
				kind = BackupReadings
			}
			add(kind, f.Name, f.Path)
		}
	}
	seen := map[string]string{manifestName: "the list of what is in the backup"}
	for _, p := range list {
		if other, twice := seen[p.Name]; twice {
			return nil, fmt.Errorf("%s and %s would both be called %s in the backup; give one of them another name", p.from, other, p.Name)
		}
		seen[p.Name] = p.from
	}
	return list, nil
}

// copied makes a copy that nobody changes any more, and finds out about it.
func (p *part) copied(ctx context.Context, to string) error {
	p.copy = to
	switch p.Kind {
	case BackupJobs, BackupReadings:
		if err := sqlite.Copy(ctx, p.from, to); err != nil {
			return err
		}
		about, err := sqlite.Inspect(ctx, to)
		if err == nil && about.Kind != p.Kind {
			err = fmt.Errorf("it has %s; expected %s", about.Kind, p.Kind)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", p.from, err)
		}
		p.Layout, p.Count = about.Layout, about.Count
	default:
		text, err := os.ReadFile(p.from)
		if err != nil {
			return err
		}
		if err := os.WriteFile(to, text, 0o600); err != nil {
			return err
		}
	}
	f, err := os.Open(to)
	if err != nil {
		return err
	}
	defer f.Close() // only read from
	sum := sha256.New()
	p.Bytes, err = io.Copy(sum, f)
	p.SHA256 = hex.EncodeToString(sum.Sum(nil))
	return err
}

// pack writes the file.
func pack(path string, m Manifest, list []part) (err error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	z := zip.NewWriter(f)
	write := func(name string, from io.Reader) error {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: m.Made})
		if err == nil {
			_, err = io.Copy(w, from)
		}
		return err
	}
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	if err := write(manifestName, bytes.NewReader(append(text, '\n'))); err != nil {
		return err
	}
	for _, p := range list {
		c, err := os.Open(p.copy)
		if err != nil {
			return err
		}
		err = write(p.Name, c)
		if err := errors.Join(err, c.Close()); err != nil {
			return err
		}
	}
	if err := z.Close(); err != nil {
		return err
	}
	return f.Sync()
}
