package record_test

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/record"
)

// looked is what testdata/pdfa.py says of a PDF.
type looked struct {
	Wrong, Missed []string
	Spoiled       int
}

func archived(t *testing.T, data []byte, spoil bool) looked {
	t.Helper()
	script, err := os.ReadFile("testdata/pdfa.py")
	if err != nil {
		t.Fatal(err)
	}
	var got looked
	peer.Python(t, []string{"pikepdf", "fontTools"}, string(script), map[string]any{"Data": data, "Spoil": spoil}, &got)
	return got
}

// The PDF has what ISO 19005-2 asks for at level B, by a list of its
// requirements from memory, looked at with pikepdf and fontTools; and the list
// finds each of the ways in which a file is spoiled. That is no certificate: no
// validator was asked.
func TestPDFA(t *testing.T) {
	undated := sample()
	undated.Date = ""
	for i := range undated.Tanks {
		tank := &undated.Tanks[i]
		tank.Bench.Date, tank.Setting.Date = "", ""
		for k := range tank.Checks {
			tank.Checks[k].Date = ""
		}
	}
	odd := sample()
	odd.Number, odd.Fitter, odd.Vehicle = `<&>"'](\)`, "Ŵ. Μπ漢😀 שלום\x00", "\nstream\nendobj\n"
	odd.Tanks[0].Name = "/Names << /Type /Page\n/CreationDate (x)\n/Count 0>>"
	small := &job.Job{Number: "1", Date: "2025-11-03", Tanks: []job.Tank{water()}}
	for name, j := range map[string]*job.Job{"small": small, "sample": sample(), "busy": busy(t), "empty": {}, "undated": undated, "odd": odd} {
		t.Run(name, func(t *testing.T) {
			d, err := record.New(j, checksum, time.Time{})
			if err != nil {
				t.Fatal(err)
			}
			papers := []record.Paper{record.A4}
			if name == "small" {
				papers = append(papers, record.Letter)
			}
			for _, paper := range papers {
				var b bytes.Buffer
				if err := d.PDF(&b, paper); err != nil {
					t.Fatal(err)
				}
				got := archived(t, b.Bytes(), name == "small" && paper == record.A4)
				if len(got.Wrong) > 0 {
					t.Errorf("%s: %s", paper, strings.Join(got.Wrong, "; "))
				}
				if len(got.Missed) > 0 || name == "small" && paper == record.A4 && got.Spoiled < 30 {
					t.Errorf("of %d files that were spoiled nothing was found wrong with: %s", got.Spoiled, strings.Join(got.Missed, "; "))
				}
			}
		})
	}
}

// The profile is that of sRGB: by LittleCMS, which Pillow asks, colours that pass
// from it to a profile of LittleCMS's own come out as they were, to one part in
// 255; and the columns of its matrix are those published with sRGB as seen by D50
// (from memory; to four places).
func TestProfile(t *testing.T) {
	profile := record.SRGB()
	if len(profile) > 1000 {
		t.Errorf("the profile takes %d bytes", len(profile))
	}
	var got struct {
		Worst   int
		Columns [][]float64
		White   []float64
		Name    string
	}
	peer.Python(t, []string{"PIL"}, `
import base64, io, json, sys
from PIL import Image, ImageCms
ours = ImageCms.ImageCmsProfile(io.BytesIO(base64.b64decode(json.load(sys.stdin))))
its = ImageCms.createProfile("sRGB")
image = Image.new("RGB", (18 * 18, 18))
for r in range(18):
    for g in range(18):
        for b in range(18):
            image.putpixel((18 * r + g, b), (15 * r, 15 * g, 15 * b))
worst = 0
for a, b in ((ours, its), (its, ours)):
    for intent in (0, 1):
        out = ImageCms.profileToProfile(image, a, b, renderingIntent=intent)
        worst = max(worst, max(abs(x - y) for p, q in zip(image.getdata(), out.getdata()) for x, y in zip(p, q)))
p = ours.profile
print(json.dumps({"Worst": worst, "Columns": [list(c[0]) for c in (p.red_colorant, p.green_colorant, p.blue_colorant)],
    "White": list(p.media_white_point[0]), "Name": p.profile_description}))
`, profile, &got)
	if got.Worst > 1 || got.Name != "sRGB" {
		t.Errorf("%s moves colours by up to %d of 255", got.Name, got.Worst)
	}
	want := [][]float64{{0.4361, 0.2225, 0.0139}, {0.3851, 0.7169, 0.0971}, {0.1431, 0.0606, 0.7141}}
	for i, c := range got.Columns {
		for k, v := range c {
			if d := v - want[i][k]; d > 0.0002 || d < -0.0002 {
				t.Errorf("column %d: %.4f, expected %.4f", i, c, want[i])
			}
		}
	}
	if fmt.Sprintf("%.4f", got.White) != "[0.9642 1.0000 0.8249]" {
		t.Errorf("white %v", got.White)
	}
}
