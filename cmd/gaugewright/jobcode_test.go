package main

import (
	"encoding/xml"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/job"
)

// The text of a code goes from one command into the other, on the command line
// or through standard input, and the job that comes out says the same.
func TestJobCode(t *testing.T) {
	folder := t.TempDir()
	done, err := sampleDone()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(folder, "one.job.json")
	if err := done.WriteFile(file); err != nil {
		t.Fatal(err)
	}
	name := done.Tanks[0].Name
	for _, drawing := range []string{"code.svg", "code.PNG"} {
		status, text, messages := command("", "job", "qr", file, "--tank", name, "--out", filepath.Join(folder, drawing))
		if status != exitDone || !strings.HasPrefix(text, "GW1:") || !strings.Contains(messages, drawing) || !strings.Contains(messages, "mm wide") {
			t.Fatalf("status %d\n%s%s", status, text, messages)
		}
	}
	f, err := os.Open(filepath.Join(folder, "code.PNG"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if picture, err := png.Decode(f); err != nil || picture.Bounds().Dx() != picture.Bounds().Dy() || picture.Bounds().Dx()%8 != 0 {
		t.Errorf("the PNG: %v", err)
	}
	drawing, err := os.Open(filepath.Join(folder, "code.svg"))
	if err != nil {
		t.Fatal(err)
	}
	defer drawing.Close()
	for d := xml.NewDecoder(drawing); ; {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatalf("the SVG: %v", err)
		}
	}

	status, text, messages := command("", "job", "qr", file, "--tank", name)
	if status != exitDone {
		t.Fatal(messages)
	}
	out := filepath.Join(folder, "restored.job.json")
	status, said, messages := command("", "job", "from-qr", strings.TrimSpace(text), "--out", out)
	if status != exitDone || messages != "" || !strings.Contains(said, "written to") {
		t.Fatalf("status %d\n%s%s", status, said, messages)
	}
	restored, err := job.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	a, b := restored.Tanks[0].Setting, done.Tanks[0].Setting
	if *a.LowerOhm != *b.LowerOhm || *a.UpperOhm != *b.UpperOhm || a.Scale != b.Scale || restored.Number != done.Number || restored.Tanks[0].Sender.Known == nil {
		t.Errorf("restored %+v, want %+v", a, b)
	}
	if status, _, messages := command("", "job", "from-qr", strings.TrimSpace(text), "--out", out); status != exitInput || !strings.Contains(messages, "is there already") {
		t.Errorf("over a file that is there: status %d, %s", status, messages)
	}
	// What was written is what is told.
	status, told, messages := command(strings.ToLower(text), "job", "from-qr", "-", "--json")
	written, _ := os.ReadFile(out)
	if status != exitDone || told != string(written) {
		t.Errorf("status %d, %s\n%s\nwant\n%s", status, messages, told, written)
	}
	// A restored job gives the same code again.
	status, again, messages := command("", "job", "qr", out)
	if status != exitDone || again != text || messages != "" {
		t.Errorf("status %d, %s\n%s\nwant\n%s", status, messages, again, text)
	}
	status, told, messages = command(text, "job", "from-qr", "-")
	for _, want := range []string{"Job " + done.Number, name, `Keyed in, scale "` + b.Scale + `"`, "knots", " ± "} {
		if status != exitDone || !strings.Contains(told, want) {
			t.Errorf("status %d, %s: told without %q:\n%s", status, messages, want, told)
		}
	}
}

func TestJobCodeRefuses(t *testing.T) {
	folder := t.TempDir()
	done, err := sampleDone()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(folder, "one.job.json")
	if err := done.WriteFile(file); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"qr", file, "--tank", "No such"}, `no tank "No such"`},
		{[]string{"qr", file, "--tank", done.Tanks[0].Name, "--out", filepath.Join(folder, "x.jpg")}, ".svg or .png"},
		{[]string{"qr", filepath.Join(folder, "none.json")}, "none.json"},
		{[]string{"from-qr", "nonsense"}, "is not a printed code"},
		{[]string{"from-qr", "GW2:ABC"}, "of version 2"},
		{[]string{"from-qr", "GW1:ABC"}, "ends after 7 signs"},
		{[]string{"from-qr", "-"}, "there is no text"},
	} {
		status, out, messages := command("", append([]string{"job"}, c.args...)...)
		if status != exitInput || out != "" || !strings.Contains(messages, c.says) {
			t.Errorf("%v: status %d, %q, %s; want it to say %q", c.args, status, out, messages, c.says)
		}
	}
	if names, _ := filepath.Glob(filepath.Join(folder, "x.*")); len(names) != 0 {
		t.Errorf("left behind: %v", names)
	}
}
