package sqlite

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"path"
	"strings"
)

// migrationFiles are the steps of the file's layout, in the order of their
// names. A step that was ever released is never edited: a change is a new one.
//
//go:embed migrations/*.sql migrations/readings/*.sql
var migrationFiles embed.FS

// migration is one step.
type migration struct{ name, sql string }

var migrations = steps(migrationFiles, "migrations")

// steps lists what is embedded in a folder; nothing of it can fail that isn't a slip of
// whoever built the program.
func steps(files fs.FS, folder string) []migration {
	names, err := fs.Glob(files, folder+"/*.sql") // sorted
	if err != nil {
		panic("sqlite: " + err.Error())
	}
	var list []migration
	for _, n := range names {
		text, err := fs.ReadFile(files, n)
		if err != nil {
			panic("sqlite: " + err.Error())
		}
		list = append(list, migration{strings.TrimSuffix(path.Base(n), ".sql"), string(text)})
	}
	return list
}

// migrate takes the steps that the file hasn't had, each in a transaction of its
// own. Another process may be doing the same: each looks again once it has the
// file to itself.
func (s *file) migrate(ctx context.Context) error {
	for i, m := range s.steps {
		number := int64(i + 1)
		taken := false
		err := s.write(ctx, "the layout of the file", func(t *txn) error {
			var version int64
			if err := t.row(ctx, "PRAGMA user_version", nil, &version); err != nil {
				return err
			}
			switch {
			case version > int64(len(s.steps)):
				return s.newer(version)
			case version >= number:
				return nil
			}
			taken = true
			for _, text := range []string{
				"CREATE TABLE IF NOT EXISTS migration (name TEXT PRIMARY KEY NOT NULL, at TEXT NOT NULL) STRICT",
				m.sql,
				fmt.Sprintf("PRAGMA application_id = %d", s.id),
				fmt.Sprintf("PRAGMA user_version = %d", number),
			} {
				if _, err := t.exec(ctx, text); err != nil {
					return fmt.Errorf("step %s: %w", m.name, err)
				}
			}
			at, err := stamp(s.now())
			if err != nil {
				return err
			}
			_, err = t.exec(ctx, "INSERT INTO migration (name, at) VALUES (?, ?)", m.name, at)
			return err
		})
		if err != nil {
			return err
		}
		if taken {
			s.log.Info("the "+s.kind+" has a new layout", "file", s.path, "step", m.name)
		}
	}
	// SQLite opens a file that may only be read, and says so when it is written.
	return s.write(ctx, "a change", func(t *txn) error {
		_, err := t.exec(ctx, "DELETE FROM migration WHERE false")
		return err
	})
}

// newer refuses a file that a later version of the program has written.
func (s *file) newer(version int64) error {
	return fmt.Errorf("the %s %s was written by a newer version of this program (its layout is %d, this one knows up to %d); nothing was changed in it: use the newer version",
		s.kind, s.path, version, len(s.steps))
}
