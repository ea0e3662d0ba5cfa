package app

import (
	"archive/zip"
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
	"path"
	"path/filepath"
	"strings"
	"time"

	"gaugewright/internal/keep"
	"gaugewright/internal/store/sqlite"
)

// readBackup reads a backup through: its list, and that each file is there as the
// list has it and can be used. Where a folder is named they are written there,
// under their numbers in the list.
func readBackup(ctx context.Context, file, into string) (m Manifest, err error) {
	z, err := zip.OpenReader(file)
	if err != nil {
		return m, fmt.Errorf("%s can't be read as a backup: %w", file, err)
	}
	defer z.Close()
	fail := func(err error) (Manifest, error) { return m, fmt.Errorf("%s: %w", file, err) }
	if len(z.File) == 0 || z.File[0].Name != manifestName {
		return fail(errors.New("it doesn't begin with a list of what is in it; expected a file that gaugewright backup has written"))
	}
	if m, err = readManifest(z.File[0]); err != nil {
		return fail(err)
	}
	if len(z.File)-1 != len(m.Files) {
		return fail(fmt.Errorf("there are %d files, and its list has %d", len(z.File)-1, len(m.Files)))
	}
	for i, f := range m.Files {
		if ctx.Err() != nil {
			return m, ctx.Err()
		}
		if z.File[i+1].Name != f.Name {
			return fail(fmt.Errorf("a file is called %q where its list has %q", z.File[i+1].Name, f.Name))
		}
		to := ""
		if into != "" {
			to = filepath.Join(into, fmt.Sprint(i))
		}
		if err := f.unpack(ctx, z.File[i+1], to); err != nil {
			return fail(fmt.Errorf("%s: %w", f.Name, err))
		}
	}
	return m, nil
}

func readManifest(f *zip.File) (m Manifest, err error) {
	r, err := f.Open()
	if err != nil {
		return m, err
	}
	defer r.Close() // only read from
	text, err := io.ReadAll(io.LimitReader(r, manifestMost+1))
	if err != nil || len(text) > manifestMost {
		return m, fmt.Errorf("its list can't be read: %w", errors.Join(err, fmt.Errorf("%d bytes", len(text))))
	}
	// The form first: what a newer one has besides, nobody knows.
	var form struct {
		Form int `json:"gaugewright_backup"`
	}
	if err := json.Unmarshal(text, &form); err != nil {
		return m, fmt.Errorf("its list can't be read: %w", err)
	}
	switch {
	case form.Form < 1:
		return m, errors.New("its list isn't that of a backup")
	case form.Form > backupForm:
		return m, fmt.Errorf("it is of form %d, and this program knows forms up to %d: it was written by a newer version; use that", form.Form, backupForm)
	}
	d := json.NewDecoder(strings.NewReader(string(text)))
	d.DisallowUnknownFields()
	if err := d.Decode(&m); err != nil {
		return m, fmt.Errorf("its list can't be read: %w", err)
	}
	if len(m.Files) > mostFiles {
		return m, fmt.Errorf("its list has %d files; expected %d at most", len(m.Files), mostFiles)
	}
	seen := map[string]bool{}
	for _, f := range m.Files {
		if err := f.fits(); err != nil {
			return m, err
		}
		if seen[strings.ToLower(f.Name)] {
			return m, fmt.Errorf("its list has %q twice", f.Name)
		}
		seen[strings.ToLower(f.Name)] = true
	}
	return m, nil
}

// fits says whether a file's name stays inside a folder, on any system, and its kind
// is known.
func (f BackupFile) fits() error {
	if !fs.ValidPath(f.Name) || !filepath.IsLocal(filepath.FromSlash(f.Name)) || f.Name == "." || strings.ContainsAny(f.Name, "\\:\x00") || path.Clean(f.Name) != f.Name {
		return fmt.Errorf("its list has a file %q, which would lie outside of the folder it is to go to; nothing was written", f.Name)
	}
	switch f.Kind {
	case BackupJobs, BackupReadings, BackupSettings, BackupJobFile, BackupKey:
		return nil
	}
	return fmt.Errorf("its list has %s of a kind %q that this program doesn't know", f.Name, f.Kind)
}

// unpack reads a file and compares it with the list; a data file is looked through.
func (f BackupFile) unpack(ctx context.Context, from *zip.File, to string) (err error) {
	r, err := from.Open()
	if err != nil {
		return err
	}
	defer r.Close() // only read from
	sum := sha256.New()
	w := io.Writer(sum)
	if to != "" {
		out, opening := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if opening != nil {
			return opening
		}
		defer func() {
			if err = errors.Join(err, out.Sync(), out.Close()); err == nil {
				err = f.looks(ctx, to)
			}
		}()
		w = io.MultiWriter(sum, out)
	}
	n, err := io.Copy(w, io.LimitReader(r, f.Bytes+1))
	switch got := hex.EncodeToString(sum.Sum(nil)); {
	case err != nil:
		return fmt.Errorf("it can't be read: %w", err)
	case n != f.Bytes:
		return fmt.Errorf("it hasn't the %d bytes that the list says", f.Bytes)
	case got != f.SHA256:
		return fmt.Errorf("its SHA-256 is %s; expected %s", got, f.SHA256)
	}
	return nil
}

// looks looks through a data file.
func (f BackupFile) looks(ctx context.Context, at string) error {
	if f.Kind != BackupJobs && f.Kind != BackupReadings {
		return nil
	}
	about, err := sqlite.Inspect(ctx, at)
	if err == nil && (about.Kind != f.Kind || about.Count != f.Count) {
		err = fmt.Errorf("it has %d %s; expected %d %s", about.Count, about.Kind, f.Count, f.Kind)
	}
	return err
}

// Restore is what is done with a backup.
type Restore struct {
	File string
	Into string // the folder; "": the backup is only looked through
	Over bool   // what is there is replaced, and kept aside
	Now  time.Time
}

// Placed is a file that was put in its place.
type Placed struct {
	BackupFile
	Path  string `json:"path"`
	Aside string `json:"kept_aside,omitempty"` // where what it replaces is now
}

// Do puts the files of a backup into a folder. All of the backup is read and looked
// through first; then nothing may be open that is replaced. Either all files are in
// their places at the end, or those from before are.
func (o Restore) Do(ctx context.Context) (m Manifest, list []Placed, err error) {
	work := o.Into
	if work == "" {
		work = os.TempDir()
	} else if err := os.MkdirAll(work, 0o700); err != nil {
		return m, nil, err
	}
	staged, err := os.MkdirTemp(work, ".gaugewright-restore-")
	if err != nil {
		return m, nil, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(staged)) }()
	if m, err = readBackup(ctx, o.File, staged); err != nil || o.Into == "" {
		return m, nil, err
	}
	for _, f := range m.Files {
		p := Placed{BackupFile: f, Path: filepath.Join(o.Into, filepath.FromSlash(f.Name))}
		if _, err := os.Lstat(p.Path); err == nil && !o.Over {
			return m, nil, fmt.Errorf("%s is there already, and nothing was changed; name another folder, or have it replaced with --over: it is kept aside then", p.Path)
		}
		list = append(list, p)
	}
	holds, err := hold(ctx, list)
	defer func() {
		for _, h := range holds {
			err = errors.Join(err, h.Release())
		}
	}()
	if err != nil {
		return m, nil, err
	}
	return m, list, o.place(list, staged)
}

// hold holds the data files that are to be replaced. One that is damaged can't be
// held, and is replaced for that.
func hold(ctx context.Context, list []Placed) (holds []*sqlite.Hold, err error) {
	for _, p := range list {
		if p.Kind != BackupJobs && p.Kind != BackupReadings {
			continue
		}
		h, err := sqlite.Seize(ctx, p.Path)
		if errors.Is(err, sqlite.ErrInUse) {
			return holds, fmt.Errorf("%w; nothing was changed", err)
		}
		if err == nil {
			holds = append(holds, h)
		}
	}
	return holds, nil
}

// place moves what is there aside and puts the new files in its place; on an error
// it moves all of it back.
func (o Restore) place(list []Placed, staged string) (err error) {
	type move struct{ from, to string }
	var done []move
	rename := func(from, to string) error {
		if err := os.Rename(from, to); err != nil {
			return err
		}
		done = append(done, move{from, to})
		return nil
	}
	defer func() {
		if err == nil {
			return
		}
		for i := len(done) - 1; i >= 0; i-- {
			err = errors.Join(err, os.Rename(done[i].to, done[i].from))
		}
		err = fmt.Errorf("the backup couldn't be put in place, and what was there is there again: %w", err)
	}()
	mark := ".before-" + o.Now.UTC().Format("20060102-150405")
	folders := map[string]bool{o.Into: true}
	for i := range list {
		p := &list[i]
		if err := os.MkdirAll(filepath.Dir(p.Path), 0o700); err != nil {
			return err
		}
		folders[filepath.Dir(p.Path)] = true
		for _, end := range []string{"", "-wal", "-shm"} { // of a damaged one
			if _, err := os.Lstat(p.Path + end); err != nil {
				continue
			}
			aside := p.Path + mark + end
			if _, err := os.Lstat(aside); err == nil {
				aside = p.Path + mark + "-" + rand.Text()[:6] + end
			}
			if err := rename(p.Path+end, aside); err != nil {
				return err
			}
			if end == "" {
				p.Aside = aside
			}
		}
		if err := rename(filepath.Join(staged, fmt.Sprint(i)), p.Path); err != nil {
			return err
		}
	}
	for f := range folders {
		if err := keep.Folder(f); err != nil {
			return err
		}
	}
	return nil
}
