package web

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"gaugewright/internal/job"
	"gaugewright/internal/tankfile"
)

// mostRows is the longest strapping table that a job may hold.
const mostRows = 100_000

// table is a strapping table that came along.
type table struct {
	file *taken
	rows []tankfile.Row
	err  string
	used bool
}

// table reads a strapping table.
func (u *upload) table(f *taken, part io.Reader) {
	t := &table{file: f}
	_, pairs, _, err := tankfile.ReadPairs(part, tankfile.Poured[:1], mostRows)
	switch {
	case err != nil:
		t.err = asSentence(csvPlace(err.Error()))
	case len(pairs) < 2:
		t.err = "It has " + howMany(len(pairs), "row", "rows") + "; expected two or more."
	}
	for _, p := range pairs {
		t.rows = append(t.rows, tankfile.Row{HeightMM: p[0], VolumeL: p[1]})
	}
	u.tables[strings.ToLower(f.File)] = t
}

// csvPlace turns ":3: text", which follows the name of a file, into
// "line 3: text".
func csvPlace(text string) string {
	text = strings.TrimPrefix(text, ":")
	if strings.HasPrefix(text, " ") {
		return strings.TrimSpace(text)
	}
	return "line " + text
}

// namesFiles says whether a shape of the job stands in other files.
func namesFiles(j *job.Job) bool {
	found := false
	for i := range j.Tanks {
		eachBody(j.Tanks[i].Shape, func(b *tankfile.Body) { found = found || b.CSV != "" || b.MeshFile != "" })
	}
	return found
}

// fill puts the tables that came along into the shapes that name them, and says
// of the other files that they are missing. Their names lose their folders: no
// file of this machine is to be opened because a job from elsewhere names it.
func (u *upload) fill(j *job.Job) []string {
	var notes []string
	for i := range j.Tanks {
		t := &j.Tanks[i]
		eachBody(t.Shape, func(b *tankfile.Body) {
			if b.CSV != "" {
				notes = append(notes, u.fillTable(t.Name, b))
			}
			if b.MeshFile != "" {
				notes = append(notes, u.missingMesh(t.Name, b))
			}
		})
	}
	return notes
}

func (u *upload) fillTable(tank string, b *tankfile.Body) string {
	name := baseName(b.CSV)
	t := u.tables[strings.ToLower(name)]
	b.CSV = name
	switch {
	case t == nil:
		return fmt.Sprintf("The shape of tank %q names the table %s, which didn’t come along. Everything else is kept. Take in the job file and the table together, or describe the shape on the tank’s page.", tank, cutTo(name, 120))
	case t.err != "":
		t.used = true
		return fmt.Sprintf("The shape of tank %q names the table %s, which can’t be used: %s Everything else is kept.", tank, cutTo(name, 120), t.err)
	}
	t.used = true
	b.CSV, b.Table = "", slices.Clone(t.rows)
	return fmt.Sprintf("The table %s is now a part of the shape of tank %q.", cutTo(name, 120), tank)
}

func (u *upload) missingMesh(tank string, b *tankfile.Body) string {
	b.MeshFile = baseName(b.MeshFile)
	also := ""
	if slices.Contains(u.meshes, strings.ToLower(b.MeshFile)) {
		also = " It came along, but a mesh can’t be a part of a job."
	}
	return fmt.Sprintf("Look at this: the shape of tank %q stands in the mesh %s.%s Until its shape is described on the tank’s page, no litres are told from heights; everything else is kept.", tank, cutTo(b.MeshFile, 120), also)
}

// eachBody visits a shape and every part of it.
func eachBody(file *tankfile.File, visit func(*tankfile.Body)) {
	if file != nil {
		eachPart(&file.Body, visit)
	}
}

func eachPart(b *tankfile.Body, visit func(*tankfile.Body)) {
	visit(b)
	for _, list := range [][]tankfile.Part{b.Parts, b.Without} {
		for i := range list {
			eachPart(&list[i].Body, visit)
		}
	}
}
