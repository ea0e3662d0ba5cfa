package chart_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"gaugewright/internal/chart"
	"gaugewright/internal/golden"
)

// handbook holds the drawings of the handbook's page on tanks.
var handbook = map[string]func() chart.Dimensioned{
	"horizontal-cylinder": drawnHorizontal,
	"upright-cylinder":    drawnUpright,
	"heads":               drawnHeads,
	"sphere":              drawnSphere,
	"ring":                drawnRing,
	"wall":                drawnWall,
	"box":                 drawnBox,
	"frustum":             drawnFrustum,
	"extrusion":           drawnExtrusion,
	"stack":               drawnStack,
	"joined":              drawnJoined,
	"without":             drawnWithout,
	"strapping":           drawnStrapping,
	"mesh":                drawnMesh,
	"sensor-and-tilt":     drawnSensorAndTilt,
	"sender-rod":          drawnRod,
	"sender-swinging-arm": drawnSwingingArm,
	"sender-dial":         drawnDial,
}

// The handbook's drawings are those that the code makes.
func TestHandbookDrawings(t *testing.T) {
	const folder = "../../docs/tank"
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, drawn := range handbook {
		t.Run(name, func(t *testing.T) {
			d := chart.DrawDimensioned(drawn())
			if a, b := overlapping(d); a != "" {
				t.Errorf("%q and %q overlap", a, b)
			}
			var b bytes.Buffer
			if err := d.SVG(&b, name); err != nil {
				t.Fatal(err)
			}
			golden.Check(t, filepath.Join("..", folder, name+".svg"), b.Bytes())
		})
	}
}

// Every size that a drawing names is a field of the tank file, and every drawing
// that the page shows is drawn.
func TestHandbookDrawingsNameTheFields(t *testing.T) {
	schema, err := os.ReadFile("../../docs/schema/tank-v1.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	field, found := regexp.MustCompile(`[a-z_]+_(mm|deg|l|pct)\b`), 0
	for name, drawn := range handbook {
		for _, s := range chart.DrawDimensioned(drawn()).Shapes {
			l, ok := s.(chart.Text)
			if !ok {
				continue
			}
			for _, f := range field.FindAllString(l.String, -1) {
				if found++; !bytes.Contains(schema, []byte(`"`+f+`"`)) {
					t.Errorf("%s names %s, which isn't in the schema", name, f)
				}
			}
		}
	}
	if found < 40 {
		t.Errorf("only %d fields are named", found)
	}
	page, err := os.ReadFile("../../docs/tank.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := regexp.MustCompile(`\(tank/([a-z-]+)\.svg\)`).FindAllSubmatch(page, -1)
	if len(shown) == 0 {
		t.Error("the page shows no drawings")
	}
	for _, m := range shown {
		if handbook[string(m[1])] == nil {
			t.Errorf("the page shows %s.svg, which isn't drawn", m[1])
		}
	}
}

// The depths of heads of a diameter of 1; by the formula of two tangent circles
// and as in published tables of heads (from memory, rounded as there).
func TestHeadProfilesOfTheHandbook(t *testing.T) {
	for _, c := range []struct {
		name                  string
		crown, knuckle, depth float64
	}{{"kloepper", 1, 0.1, 0.1938}, {"korbbogen", 0.8, 0.154, 0.2545}, {"asme-fd", 1, 0.06, 0.1693}} {
		profile, depth := head(1, c.crown, c.knuckle)
		if math.Abs(depth-c.depth) > 5e-5 {
			t.Errorf("%s: depth %.5f, want %.4f", c.name, depth, c.depth)
		}
		top := 0.0
		for _, p := range profile {
			top = max(top, p[1])
		}
		if math.Abs(top-depth) > 1e-4 || math.Abs(profile[0][0]-0.5) > 1e-9 {
			t.Errorf("%s: the profile is %.5f deep and begins at %.5f", c.name, top, profile[0][0])
		}
	}
}
