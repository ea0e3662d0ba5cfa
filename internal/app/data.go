package app

import (
	"context"
	"errors"
	"fmt"
	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
	"os"
	"path/filepath"
	"runtime"
)

// dataName is the file in which a workshop's jobs are.
const dataName = "workshop.db"

// DataFile gives the place of the workshop's file where none is named: in the
// folder that the system has for a user's data. On Linux and its like that is
// by the XDG Base Directory Specification.
func DataFile() (string, error) {
	folder, err := dataFolder(runtime.GOOS, os.Getenv)
	if err != nil {
		return "", err
	}
	return filepath.Join(folder, "gaugewright", dataName), nil
}

func dataFolder(system string, env func(string) string) (string, error) {
	home := env("HOME")
	switch system {
	case "windows":
		if local := env("LocalAppData"); local != "" {
			return local, nil
		}
		return "", errors.New("%LocalAppData% isn't set, so there is no place for the data; name a file with --data")
	case "darwin":
		if home != "" {
			return filepath.Join(home, "Library", "Application Support"), nil
		}
	default:
		// A relative path is invalid and to be ignored, says the specification.
		if data := env("XDG_DATA_HOME"); filepath.IsAbs(data) {
			return data, nil
		}
		if home != "" {
			return filepath.Join(home, ".local", "share"), nil
		}
	}
	return "", errors.New("$HOME isn't set, so there is no place for the data; name a file with --data")
}

// Jobs is the jobs of a data file, without the pages.
type Jobs interface {
	job.Store
	Close() error
}

// OpenJobs opens the jobs of a data file; "" is that of [DataFile]. A program
// that serves it may go on doing so: its pages see what is changed here. With
// there set, a file that isn't there is an error and isn't made.
func OpenJobs(ctx context.Context, data string, there bool) (Jobs, error) {
	if data == "" {
		var err error
		if data, err = DataFile(); err != nil {
			return nil, err
		}
	}
	if _, err := os.Stat(data); there && err != nil {
		return nil, fmt.Errorf("there are no jobs to read: %w", err)
	}
	return sqlite.Open(ctx, data, sqlite.Options{})
}
