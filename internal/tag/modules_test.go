package tag_test

import (
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/tag"

	"rsc.io/qr"
)

// sample gives the sample job, with those of its tanks that have something to
// print.
func sample(t testing.TB) *job.Job {
	t.Helper()
	j, err := job.ReadFile("../job/testdata/tidewater-v2.job.json")
	if err != nil {
		t.Fatal(err)
	}
	j.Tanks = slices.DeleteFunc(j.Tanks, func(tank job.Tank) bool {
		return tank.Setting == nil && len(tank.Bench.Readings) == 0 && tank.Sender.Known == nil
	})
	if len(j.Tanks) < 5 {
		t.Fatalf("%d tanks in the sample, want five or more", len(j.Tanks))
	}
	return j
}

// scanned reads a picture of a code with zbarimg (Debian's zbar-tools).
func scanned(t *testing.T, m tag.Matrix, pixels int) string {
	t.Helper()
	zbar := peer.Tool(t, "zbarimg", "zbar-tools")
	path := filepath.Join(t.TempDir(), "code.png")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(f, m.Image(pixels)); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(zbar, "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", path).Output()
	if err != nil {
		t.Fatalf("zbarimg: %v", err)
	}
	return strings.TrimSuffix(string(out), "\n")
}

// A reader of other people's making reads from the picture what was put in, and
// from that the job comes back. The codes are small enough to be scanned from a
// card: up to 600 signs and version 18, 89 modules in 40 mm with the quiet zone.
func TestScanned(t *testing.T) {
	j := sample(t)
	for i := range j.Tanks {
		c, err := tag.Encode(j, j.Tanks[i].Name)
		if err != nil {
			t.Fatal(err)
		}
		m, err := tag.Modules(c.Text)
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Text) > 600 || m.Version > 18 || m.Level != "M" {
			t.Errorf("%s: %d signs, version %d, level %s", j.Tanks[i].Name, len(c.Text), m.Version, m.Level)
		}
		if got := scanned(t, m, 4); got != c.Text {
			t.Errorf("%s: scanned\n%s\nwant\n%s", j.Tanks[i].Name, got, c.Text)
		}
	}
}

// The largest codes of either level can be scanned, and one sign more is refused
// with what to do. The capacities are of ISO/IEC 18004, table 7: 1451 signs in
// version 25 at level M, 1853 at L.
func TestLargest(t *testing.T) {
	text := strings.Repeat("GAUGE 0123456789/$%*+-.:", 100)
	for _, c := range []struct {
		n, version int
		level      string
	}{{1, 1, "M"}, {20, 1, "M"}, {21, 2, "M"}, {1451, 25, "M"}, {1452, 22, "L"}, {1853, 25, "L"}} {
		m, err := tag.Modules(text[:c.n])
		if err != nil {
			t.Fatal(err)
		}
		if m.Version != c.version || m.Level != c.level || m.Size != 17+4*m.Version {
			t.Errorf("%d signs: version %d, level %s, %d modules; want version %d, level %s", c.n, m.Version, m.Level, m.Size, c.version, c.level)
		}
		if got := scanned(t, m, 4); got != text[:c.n] {
			t.Errorf("%d signs are scanned as %q", c.n, got)
		}
	}
	_, err := tag.Modules(text[:1854])
	if err == nil || !strings.Contains(err.Error(), "1854 signs") || !strings.Contains(err.Error(), "leave") {
		t.Errorf("1854 signs: %v", err)
	}
	for _, odd := range []string{"", "gw1", "GW1:é", "A\nB"} {
		if _, err := tag.Modules(odd); err == nil {
			t.Errorf("%q is drawn", odd)
		}
	}
}

// Under the mask that the encoder's library always takes, the modules are the
// same as the library's own; and the mask taken is one that can be read back,
// all eight of which occur.
func TestMasks(t *testing.T) {
	seen := map[int]bool{}
	for n := 1; n < 400 && len(seen) < 8; n++ {
		text := strings.Repeat("7K:"+string(rune('A'+n%26))+string(rune('0'+n%10)), n/3+1)
		m, err := tag.Modules(text)
		if err != nil {
			t.Fatal(err)
		}
		if !seen[m.Mask] {
			if got := scanned(t, m, 3); got != text {
				t.Errorf("mask %d: scanned %q, want %q", m.Mask, got, text)
			}
		}
		seen[m.Mask] = true
		if m.Mask != 0 {
			continue
		}
		theirs, err := qr.Encode(text, qr.M)
		if err != nil {
			t.Fatal(err)
		}
		for y := -1; y <= m.Size; y++ {
			for x := -1; x <= m.Size; x++ {
				if m.Dark(x, y) != theirs.Black(x, y) {
					t.Fatalf("module %d, %d of %q differs", x, y, text)
				}
			}
		}
	}
	if len(seen) < 8 {
		t.Errorf("masks taken: %v, want all eight among 400 texts", seen)
	}
}

func BenchmarkEncodeAndModules(b *testing.B) {
	j := sample(b)
	for b.Loop() {
		c, err := tag.Encode(j, "Fresh water")
		if err != nil {
			b.Fatal(err)
		}
		if _, err := tag.Modules(c.Text); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEncode(b *testing.B) {
	j := sample(b)
	for b.Loop() {
		if _, err := tag.Encode(j, "Fresh water"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecode(b *testing.B) {
	c, err := tag.Encode(sample(b), "Fresh water")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := tag.Decode(c.Text); err != nil {
			b.Fatal(err)
		}
	}
}
