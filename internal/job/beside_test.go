package job_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/internal/job"
)

// A job that came without files beside it opens none, whatever it names.
func TestBeside(t *testing.T) {
	folder := t.TempDir()
	table := "height_mm,volume_l\n0,0\n100,20\n200,50\n"
	if err := os.WriteFile(filepath.Join(folder, "table.csv"), []byte(table), 0o600); err != nil {
		t.Fatal(err)
	}
	text := func(name string) string {
		return `{"version": 1, "number": "1", "tanks": [{"name": "Water", "contents": "water",
			"shape": {"shape": "strapping", "csv": "` + name + `"}, "sender": {}, "bench": {"readings": []}}]}`
	}
	for _, name := range []string{"table.csv", filepath.Join(folder, "table.csv"), "../table.csv"} {
		j, err := job.Read(strings.NewReader(text(name)), "sent.json")
		if err != nil {
			t.Fatal(err)
		}
		if _, _, _, err := j.Tanks[0].Built(); err == nil || !strings.Contains(err.Error(), "isn't in the job") {
			t.Errorf("the shape in %s: %v; expected that it isn't opened", name, err)
		}
	}
	j, err := job.Read(strings.NewReader(text("table.csv")), "sent.json")
	if err != nil {
		t.Fatal(err)
	}
	j.Beside(folder)
	if got := float64(j.Tanks[0].Capacity()); got < 0.0499 || got > 0.0501 {
		t.Errorf("with its file beside it the tank holds %g m³; expected 0.05", got)
	}
}
