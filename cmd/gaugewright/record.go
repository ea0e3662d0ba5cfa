package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/keep"
	"gaugewright/internal/language"
	"gaugewright/internal/record"
)

type recordVerb struct {
	File      string `arg:"" help:"The job file."`
	Out       string `placeholder:"FILE" help:"Where to write it: as PDF if the name ends in .pdf, else as a page; beside the job file unless given, - for the page on standard output."`
	Paper     string `default:"A4" enum:"A4,Letter" help:"The paper it is laid out for."`
	Card      bool   `help:"Write pocket cards instead, one for each tank, to cut out and glue inside a cupboard door."`
	Language  string `default:"en" placeholder:"CODE" help:"The language that it is in, such as de."`
	Languages string `placeholder:"FOLDER" help:"A folder with catalogues of more languages (docs/languages.md)."`
	Made      string `placeholder:"TIME" help:"When the record is made: a date, or a time as 2026-11-03T16:20:00Z. Unless given, the record says how far the job had come, so that the same job gives the same file."`
}

// Run writes the record of a job.
func (v *recordVerb) Run(s streams) error {
	how, err := v.how()
	if err != nil {
		return err
	}
	out, what, name := v.Out, "Record", ".record.html"
	if v.Card {
		what, name = "Cards", ".card.html"
	}
	if out == "" {
		out = strings.TrimSuffix(strings.TrimSuffix(v.File, ".json"), ".job") + name
	}
	if out == "-" {
		page, err := recordAs(v.File, how)
		if err != nil {
			return err
		}
		_, err = s.out.Write(page)
		return err
	}
	if err := writeRecord(v.File, out, how); err != nil {
		return err
	}
	if isPDF(out) {
		fmt.Fprintf(s.out, "%s written to %s, laid out for %s.\n", what, out, v.Paper)
		return nil
	}
	fmt.Fprintf(s.out, "%s written to %s: open it in a browser and print it.\n", what, out)
	return nil
}

// recordHow is how a record is made.
type recordHow struct {
	paper record.Paper
	made  time.Time // zero: as the job tells
	pdf   bool
	in    *language.Book // nil: English
	card  bool           // pocket cards in the place of the record
}

// how reads what the flags say.
func (v *recordVerb) how() (how recordHow, err error) {
	how.card = v.Card
	if how.paper, err = record.ParsePaper(v.Paper); err != nil {
		return how, err
	}
	// English needs no catalogue, and reading them takes as long as a record does.
	if v.Language != "en" || v.Languages != "" {
		books, err := language.Open(v.Languages)
		if err != nil {
			return how, err
		}
		if how.in, err = books.Find(v.Language); err != nil {
			return how, fmt.Errorf("--language: %w", err)
		}
	}
	if v.Made != "" {
		if how.made, err = record.ParseMade(v.Made); err != nil {
			return how, fmt.Errorf("--made: %w", err)
		}
	}
	return how, nil
}

// isPDF says whether a file is to be a PDF, by its name.
func isPDF(name string) bool { return strings.EqualFold(filepath.Ext(name), ".pdf") }

// writeRecord makes the record of a job file and writes it, as PDF where the
// name ends so and else as a page.
func writeRecord(jobFile, out string, how recordHow) error {
	how.pdf = isPDF(out)
	data, err := recordAs(jobFile, how)
	if err != nil {
		return err
	}
	return keep.File(out, data)
}

// recordAs makes the record of a job file in one of its forms.
func recordAs(jobFile string, how recordHow) ([]byte, error) {
	// One reading of the file, so that the checksum is that of what is shown.
	data, err := readAll(jobFile)
	if err != nil {
		return nil, err
	}
	j, err := job.Read(bytes.NewReader(data), jobFile)
	if err != nil {
		return nil, err
	}
	j.Beside(filepath.Dir(jobFile))
	d, err := documentOf(j, job.Checksum(data), how)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if how.pdf {
		err = d.PDF(&b, how.paper)
	} else {
		err = d.HTML(&b, how.paper)
	}
	return b.Bytes(), err
}

// paper is what a record and its cards can be written as.
type paper interface {
	PDF(io.Writer, record.Paper) error
	HTML(io.Writer, record.Paper) error
}

func documentOf(j *job.Job, checksum string, how recordHow) (paper, error) {
	if how.card {
		c, err := record.NewCards(j, checksum, how.made)
		if err != nil {
			return nil, err
		}
		return c.In(how.in), nil
	}
	d, err := record.New(j, checksum, how.made)
	if err != nil {
		return nil, err
	}
	return d.In(how.in), nil
}

// readAll reads a whole job file, of which there can't be much.
func readAll(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, job.MaxBytes+1))
}
