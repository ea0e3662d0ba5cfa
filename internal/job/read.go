package job

import (
	"io"
	"path/filepath"

	"gaugewright/internal/strict"
)

// FileError is one thing wrong with a job file, or with a job that was to be
// written.
type FileError = strict.FileError

// FileErrors is two to five things wrong with one job, in the order of the
// file.
type FileErrors = strict.FileErrors

// Read reads a job file of up to [MaxBytes]. The name is for messages.
//
// A file is refused for anything the [Schema] doesn't allow, and for what no
// schema can say: a field that stands twice, tanks of one name, marks in more
// than one unit, numbers in something else than the bench reads, end values or
// claimed ends that are the same, a bench whose
// readings aren't in what it says of itself, a table that doesn't rise, a full mark that isn't above the empty one, the fill scale
// without a permitted fill, the usable scale without a heel, a scale of volume on
// marks that don't tell it, a shape that can't be, and, for LPG, a fill or usable
// scale that would show 100 % above 85 % of the water capacity or for which that
// can't be told. Files that a shape names are not opened. A file whose signature
// isn't that of the file as it stands is read; [Job.Findings] says so.
//
// Files of earlier versions are held to the schema of theirs and carried forward.
//
// Every error is a [*FileError], or [FileErrors] where there are more than one.
func Read(r io.Reader, name string) (*Job, error) {
	j, text, err := strict.ReadText(form, r, name, (*Job).rules)
	if err != nil {
		return nil, err
	}
	j.seal(text)
	j.Beside("")
	return j, nil
}

// Beside says in which folder the files are that shapes of the job name, relative
// to this program; "" for a job that isn't kept beside files, which opens none.
func (j *Job) Beside(folder string) {
	for i := range j.Tanks {
		if t := &j.Tanks[i]; t.Shape != nil {
			t.kept, t.Folder = new(keptShape), folder
		}
	}
}

// ReadFile reads the job file at path as Read does; "-" is standard input. Files
// that the shape of a tank names are looked for beside the job file, when they
// are needed.
func ReadFile(path string) (*Job, error) {
	j, text, err := strict.ReadFileText(form, path, (*Job).rules)
	if err != nil {
		return nil, err
	}
	j.seal(text)
	folder := "."
	if path != "-" {
		folder = filepath.Dir(path)
	}
	j.Beside(folder)
	return j, nil
}
