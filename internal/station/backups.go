package station

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/store/sqlite"
)

const (
	usualBackupKeep  = 7
	usualBackupEvery = 24 * time.Hour
	// backupAgain is how soon a backup that failed is tried again, at the latest.
	backupAgain = 10 * time.Minute
)

// stamp is the time in a backup's name, in UTC.
const stamp = "20060102-150405"

// backupName tells the backups of a file: watch-20261103-140200.db.
func backupName(data string) (base string, name *regexp.Regexp) {
	base = strings.TrimSuffix(filepath.Base(data), filepath.Ext(data))
	return base, regexp.MustCompile(`^` + regexp.QuoteMeta(base) + `-\d{8}-\d{6}(-\d+)?\.db$`)
}

// backups makes backups until the context ends: the first when the last one there
// is is old enough.
func (s *Station) backups(ctx context.Context) error {
	every := time.Duration(s.config.Backup.Every)
	wait := time.Minute
	if list, err := s.backupsThere(); err == nil && len(list) > 0 {
		if info, err := os.Stat(list[len(list)-1]); err == nil {
			wait = max(wait, min(every, every-s.o.Now().Sub(info.ModTime())))
		}
	}
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(wait):
		}
		wait = every
		path, err := s.backUp(ctx)
		s.backedUp(path, err)
		if err != nil {
			wait = min(every, backupAgain)
		}
	}
}

// backedUp tells how a backup went.
func (s *Station) backedUp(path string, err error) {
	s.telling.Lock()
	defer s.telling.Unlock()
	s.notes = slices.DeleteFunc(s.notes, func(n string) bool { return strings.HasPrefix(n, backupFailed) })
	if err != nil {
		s.o.Log.Error("no backup could be made", "error", err)
		s.notes = append(s.notes, fmt.Sprintf("No backup could be made on %s: %v.", s.said(s.o.Now()), err))
		return
	}
	s.o.Log.Info("a backup was made and checked", "file", path)
}

// backupFailed begins the note that none could be made, of which the latest alone
// stands.
const backupFailed = "No backup could be made"

// backUp makes a backup, checks it, and lets go of the oldest.
func (s *Station) backUp(ctx context.Context) (path string, err error) {
	folder := s.config.path(s.config.Backup.Folder)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", err
	}
	base, _ := backupName(s.config.Data)
	at := s.o.Now().UTC().Format(stamp)
	path = filepath.Join(folder, base+"-"+at+".db")
	for n := 2; ; n++ {
		if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
			break
		}
		path = filepath.Join(folder, fmt.Sprintf("%s-%s-%d.db", base, at, n))
	}
	if err := s.store.Backup(ctx, path); err != nil {
		return "", err
	}
	if _, err := sqlite.Inspect(ctx, path); err != nil {
		return "", errors.Join(fmt.Errorf("the backup was written, and can't be read: %w", err), os.Remove(path))
	}
	list, err := s.backupsThere()
	if err != nil {
		return path, err
	}
	for len(list) > s.config.Backup.Keep {
		if err := os.Remove(list[0]); err != nil {
			return path, err
		}
		list = list[1:]
	}
	return path, nil
}

// backupsThere lists the backups that are there, the oldest first.
func (s *Station) backupsThere() ([]string, error) {
	folder := s.config.path(s.config.Backup.Folder)
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	_, name := backupName(s.config.Data)
	var list []string
	for _, e := range entries {
		if e.Type().IsRegular() && name.MatchString(e.Name()) {
			list = append(list, filepath.Join(folder, e.Name()))
		}
	}
	slices.Sort(list)
	return list, nil
}

// leftover is the name of a file that was being written and never got its own.
var leftover = regexp.MustCompile(`^\.[A-Z2-7]{26}\.tmp(-journal)?$`)

// leftoverAge is how old such a file is at the least for nobody to be at it.
const leftoverAge = time.Hour

// leftovers takes away what was being written when the power was cut, beside the
// data and among the backups, and says so.
func (s *Station) leftovers() (said []string) {
	folders := map[string]string{filepath.Dir(s.store.Path()): "A file that was being written when the watch before was cut off"}
	if s.config.Backup.Folder != "" {
		folders[s.config.path(s.config.Backup.Folder)] = "A backup that was being made when the watch before was cut off"
	}
	for folder, what := range folders {
		entries, err := os.ReadDir(folder)
		if err != nil {
			continue // it isn't there yet
		}
		for _, e := range entries {
			info, err := e.Info()
			if err != nil || !info.Mode().IsRegular() || !leftover.MatchString(e.Name()) || time.Since(info.ModTime()) < leftoverAge {
				continue
			}
			if err := os.Remove(filepath.Join(folder, e.Name())); err == nil {
				said = append(said, fmt.Sprintf("%s was taken away: %s, %d bytes.", what, filepath.Join(folder, e.Name()), info.Size()))
			}
		}
	}
	return said
}
