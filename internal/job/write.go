package job

import (
	"errors"

	"gaugewright/internal/keep"
	"gaugewright/internal/strict"
)

// WriteFile writes the job to a file, whole or not at all, as [keep.File] does:
// after a crash or a full disk the old file or the new one is there, never half
// of one. A job that Encode refuses leaves the old file as it is. Every error
// is a [*FileError] or [FileErrors].
func (j *Job) WriteFile(path string) error {
	data, err := j.Encode()
	if err != nil {
		return err
	}
	switch err := keep.File(path, data); {
	case errors.Is(err, keep.ErrNotPlain):
		return &FileError{Name: path, Msg: "this is a directory or a device; expected the name of a job file"}
	case err != nil:
		return strict.SystemError(path, "not written", err)
	}
	return nil
}
