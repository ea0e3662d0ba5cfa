package app

import (
	"errors"
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
