package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"strings"

	"gaugewright/internal/job"
)

const (
	// importLimit is the most that one upload may hold, in bytes.
	importLimit = 64 << 20
	// importFiles is how many files one upload may hold.
	importFiles = 500
)

// jobFile gives a job as a file, with what the store knows of its history.
func (s *Site) jobFile(w http.ResponseWriter, r *http.Request) error {
	kept, err := s.job(r)
	if err != nil {
		return err
	}
	out, err := s.outgoing(r.Context(), kept)
	if err != nil {
		return err
	}
	return s.giveFile(w, out, ".job.json")
}

// giveFile gives a job as a file of a name with an ending.
func (s *Site) giveFile(w http.ResponseWriter, j *job.Job, ending string) error {
	data, err := j.Encode()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Content-Disposition", attachment(j, ending))
	w.Header().Set("Content-Length", itoa(len(data)))
	_, _ = w.Write(data) // a browser that went away is no matter
	return nil
}

// exchangeBody is what became of each file of an upload.
type exchangeBody struct {
	Files []taken
	Kept  int
	// Forged says that files were left out because their signature doesn't hold.
	Forged bool
}

// importJobs takes in job files, and strapping tables that they name. The files
// are read one after another as they come; none is held as a whole but a job
// that waits for its table.
func (s *Site) importJobs(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, importLimit)
	parts, err := r.MultipartReader()
	if err != nil {
		return refused("This form carried no files. Choose one or more job files on the list of jobs, then press Take in.")
	}
	u := upload{site: s, tables: map[string]*table{}}
	if err := u.read(r.Context(), parts); err != nil {
		return err
	}
	if err := u.finish(r.Context()); err != nil {
		return err
	}
	if len(u.files) == 0 {
		return refused("No file was chosen. Choose one or more job files on the list of jobs, then press Take in.")
	}
	body := exchangeBody{}
	for _, f := range u.files {
		body.Files = append(body.Files, *f)
		body.Forged = body.Forged || f.Forged
		if f.Path != "" {
			body.Kept++
		}
	}
	status := http.StatusOK
	if body.Kept == 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.showAs(w, r, status, view{Page: "exchange", Title: "Files taken in", Body: body})
}

// taken is what became of one file.
type taken struct {
	File   string
	Text   string   // in a sentence
	Label  string   // of the job
	Path   string   // of the job; "" where there is none
	Faults []string // what is wrong with the file
	Notes  []string // what to mind of the job
	Signed string   // what is to be said of its signature
	Forged bool     // it was left out because its signature doesn't hold
}

// upload is one upload as far as it was read.
type upload struct {
	site   *Site
	files  []*taken
	tables map[string]*table // by folded name
	meshes []string          // folded names of the meshes that came along
	wait   []waiting         // jobs that name other files
	anyway bool              // files whose signature doesn't hold are wanted all the same
}

// waiting is a job whose other files may still come.
type waiting struct {
	job  *job.Job
	file *taken
}

// read reads the files one by one.
func (u *upload) read(ctx context.Context, parts *multipart.Reader) error {
	for {
		part, err := parts.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil && ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			u.cutOff(err)
			return nil
		case part.FormName() == "anyway":
			u.anyway = true // the field stands before the files in its form
			continue
		case part.FileName() == "":
			continue // a field, or no file chosen
		case len(u.files) == importFiles:
			u.files = append(u.files, &taken{File: "the files after these", Text: fmt.Sprintf("Not read: one upload may hold %d files. Send the others again.", importFiles)})
			return nil
		}
		f := &taken{File: cutTo(baseName(part.FileName()), 120)}
		u.files = append(u.files, f)
		ownIn(ctx, f.File)
		switch name := strings.ToLower(f.File); {
		case strings.HasSuffix(name, ".stl"), strings.HasSuffix(name, ".obj"):
			u.meshes = append(u.meshes, name)
			f.Text = "Not kept: a mesh can’t be a part of a job. A strapping table made from it can; gaugewright tank --strap writes one."
		case strings.HasSuffix(name, ".csv"):
			u.table(f, part)
		default:
			if err := u.job(ctx, f, part); err != nil {
				return err
			}
		}
	}
}

// job reads a job file.
func (u *upload) job(ctx context.Context, f *taken, part io.Reader) error {
	j, err := job.Read(part, f.File)
	var tooMuch *http.MaxBytesError
	if errors.As(err, &tooMuch) {
		f.Text = uploadTooLarge
		return nil
	}
	if err != nil {
		f.Text, f.Faults = "Not taken in: this file isn’t a job that can be kept. Nothing of it was kept.", fileFaults(err)
		return nil
	}
	ownIn(ctx, j.OwnWords()...)
	signature := u.site.signatureOf(ctx, j)
	f.Signed = signature.Text
	if signature.Bad && !u.anyway {
		f.Forged = true
		f.Text = "Not taken in, and nothing of it was kept. Ask whoever gave it to you for the file again, and have the mark of the key read to you."
		return nil
	}
	if namesFiles(j) {
		u.wait = append(u.wait, waiting{j, f})
		return nil
	}
	return u.site.keepImported(ctx, f, j)
}

// finish keeps the jobs that waited, and tells of tables that no job named.
func (u *upload) finish(ctx context.Context) error {
	for _, w := range u.wait {
		w.file.Notes = u.fill(w.job)
		if err := u.site.keepImported(ctx, w.file, w.job); err != nil {
			return err
		}
	}
	for _, t := range u.tables {
		switch {
		case t.err != "" && t.used:
			t.file.Text = "Not usable as a strapping table: " + t.err
		case t.err != "":
			t.file.Text = "Not taken in: no job file of this upload names it, and it is no strapping table: " + t.err
		case t.used:
			t.file.Text = fmt.Sprintf("Taken into the shape that names it: %d rows.", len(t.rows))
		default:
			t.file.Text = "Not taken in: no job file of this upload names this table."
		}
	}
	return nil
}

const uploadTooLarge = "Not taken in: this upload came to more than 64 MB, and ended here. Send fewer files at a time; a job file is never larger than 16 MB."

// cutOff tells of an upload that ended early.
func (u *upload) cutOff(err error) {
	text := "The upload ended before all of it was here. What is listed as kept is kept; send the rest again."
	var tooMuch *http.MaxBytesError
	if errors.As(err, &tooMuch) {
		text = uploadTooLarge
	}
	if n := len(u.files); n > 0 && u.files[n-1].Text == text {
		return
	}
	u.files = append(u.files, &taken{File: "the rest of the upload", Text: text})
}

// fileFaults tells what is wrong with a file, each fault with its place.
func fileFaults(err error) []string {
	list := problems(err)
	if list == nil {
		return []string{err.Error()}
	}
	var out []string
	for _, e := range list {
		place := ""
		if e.Line > 0 {
			place = fmt.Sprintf("Line %d, column %d: ", e.Line, e.Column)
		}
		if e.Path != "" {
			place += e.Path + ": "
		}
		if place == "" {
			out = append(out, asSentence(e.Msg))
			continue
		}
		out = append(out, place+stopped(e.Msg))
	}
	return out
}
