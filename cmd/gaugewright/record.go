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
	"gaugewright/internal/record"
)

type recordVerb struct {
	File  string `arg:"" help:"The job file."`
	Out   string `placeholder:"FILE" help:"Where to write it: as PDF if the name ends in .pdf, else as a page; beside the job file unless given, - for the page on standard output."`
	Paper string `default:"A4" enum:"A4,Letter" help:"The paper it is laid out for."`
}

// Run writes the record of a job.
func (v *recordVerb) Run(s streams) error {
	out := v.Out
	if out == "" {
		base := strings.TrimSuffix(strings.TrimSuffix(v.File, ".json"), ".job")
		out = base + ".record.html"
	}
	if out == "-" {
		page, err := recordPage(v.File, v.Paper)
		if err != nil {
			return err
		}
		_, err = s.out.Write(page)
		return err
	}
	if err := writeRecord(v.File, out, v.Paper); err != nil {
		return err
	}
	if isPDF(out) {
		fmt.Fprintf(s.out, "Record written to %s, laid out for %s.\n", out, v.Paper)
		return nil
	}
	fmt.Fprintf(s.out, "Record written to %s: open it in a browser and print it.\n", out)
	return nil
}

// isPDF says whether a file is to be a PDF, by its name.
func isPDF(name string) bool { return strings.EqualFold(filepath.Ext(name), ".pdf") }

// writeRecord makes the record of a job file and writes it, as PDF where the
// name ends so and else as a page.
func writeRecord(jobFile, out, paper string) error {
	write := (*record.Document).HTML
	if isPDF(out) {
		write = (*record.Document).PDF
	}
	data, err := recordAs(write, jobFile, paper)
	if err != nil {
		return err
	}
	return keep.File(out, data)
}

func recordPage(jobFile, paper string) ([]byte, error) {
	return recordAs((*record.Document).HTML, jobFile, paper)
}

// recordAs makes the record of a job file and writes it in one of its forms.
func recordAs(write func(*record.Document, io.Writer, record.Paper) error, jobFile, paper string) ([]byte, error) {
	size, err := record.ParsePaper(paper)
	if err != nil {
		return nil, err
	}
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
	d, err := record.New(j, job.Checksum(data), time.Now())
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = write(d, &b, size)
	return b.Bytes(), err
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
