package record_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/record"
)

// fatal is what helpers need of a test, rapid's among them.
type fatal interface {
	Helper()
	Fatalf(format string, args ...any)
}

func document(t fatal, j *job.Job) *record.Document {
	t.Helper()
	d, err := record.New(j, checksum, made)
	if err != nil {
		t.Fatalf("no record: %v", err)
	}
	return d
}

func html(t fatal, j *job.Job, paper record.Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := document(t, j).HTML(&b, paper); err != nil {
		t.Fatalf("no page: %v", err)
	}
	return b.Bytes()
}

// read is a page as a reader of XML finds it.
type read struct {
	text     string         // all text outside style, white space made single
	elements map[string]int // how often each is there
	ids      map[string]int
	named    []string // ids that aria-labelledby and #fragments refer to
	attrs    []xml.Attr
	style    string
}

// readPage fails where the page isn't well-formed.
func readPage(t fatal, page []byte) read {
	t.Helper()
	r := read{elements: map[string]int{}, ids: map[string]int{}}
	var text strings.Builder
	decoder := xml.NewDecoder(bytes.NewReader(page))
	inStyle := false
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		switch k := token.(type) {
		case xml.StartElement:
			r.elements[k.Name.Local]++
			inStyle = k.Name.Local == "style"
			text.WriteByte(' ')
			for _, a := range k.Attr {
				r.attrs = append(r.attrs, a)
				switch a.Name.Local {
				case "id":
					r.ids[a.Value]++
				case "aria-labelledby":
					r.named = append(r.named, strings.Fields(a.Value)...)
				case "href":
					r.named = append(r.named, strings.TrimPrefix(a.Value, "#"))
				}
			}
		case xml.EndElement:
			inStyle = false
			text.WriteByte(' ')
		case xml.CharData:
			if inStyle {
				r.style += string(k)
			} else {
				text.Write(k)
			}
		}
	}
	r.text = plainly(text.String())
	return r
}

// plainly makes all white space single blanks; no-break spaces count as white
// space.
func plainly(s string) string { return strings.Join(strings.Fields(s), " ") }

func contains(t *testing.T, text string, want ...string) {
	t.Helper()
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("the record doesn't say %q", w)
		}
	}
}

// A reading that was struck out stays in the record, drawn through and with its
// reason, and counts for nothing.
func TestStruckOut(t *testing.T) {
	mark := 40.0
	at := 1
	tank := job.Tank{Name: "Gas", Contents: job.Water, Bench: job.Bench{
		Readings: []job.Reading{{MarkPct: new(0.0), Ohm: 1}, {MarkPct: new(100.0), Ohm: 90}},
		Struck:   []job.Struck{{Reading: job.Reading{MarkPct: &mark, Ohm: 77.5, Sweep: "up", Note: "cold"}, Reason: "clip <slipped>", At: &at}},
	}}
	d := document(t, &job.Job{Number: "1", Tanks: []job.Tank{tank}})
	var strip record.Strip
	for _, b := range d.Sections[0].Blocks {
		if s, ok := b.(record.Strip); ok {
			strip = s
		}
	}
	want := record.Entry{Mark: "40 %", Sweep: "▲ up", Ohm: "77.5 Ω", Out: "struck out", Note: "cold; clip <slipped>"}
	if len(strip.Entries) != 3 || strip.Entries[1] != want {
		t.Errorf("the strip: %+v; expected %+v in its middle", strip.Entries, want)
	}
	var b bytes.Buffer
	if err := d.HTML(&b, record.A4); err != nil {
		t.Fatal(err)
	}
	if text := b.String(); !strings.Contains(text, "<em>struck out</em>") || !strings.Contains(text, "clip &lt;slipped&gt;") || !strings.Contains(text, "2 readings") {
		t.Error("the page lacks the struck reading, or counts it")
	}
}
