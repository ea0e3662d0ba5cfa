package job

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"gaugewright/internal/curve"
	"gaugewright/internal/finding"
	"gaugewright/internal/gauge"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
	"gaugewright/internal/tankfile"
)

// Built makes the tank of its shape, with the sender that the shape has; nil
// where none is described. Files that the shape names are looked for in the
// folder that the job was read from. It is an error where there is no shape, or
// it can't be built.
func (t Tank) Built() (*tank.Tank, tank.Sender, []finding.Finding, error) {
	b := t.built()
	return b.tank, b.sender, append([]finding.Finding(nil), b.findings...), b.err
}

func (t Tank) built() builtShape {
	if t.Shape == nil {
		return builtShape{err: fmt.Errorf("tank %q has no shape", t.Name)}
	}
	file := *t.Shape
	if file.CapacityL == 0 {
		file.CapacityL = t.WaterCapacityL // so that it is held against the sizes
	}
	build := func() (built builtShape) {
		made, findings, err := file.Tank(func(name string) (io.ReadCloser, error) {
			built.files = true
			return t.beside(name)
		})
		if err != nil {
			built.err = fmt.Errorf("tank %q: shape: %w", t.Name, err)
			return built
		}
		sender, err := file.SenderIn(made)
		if err != nil {
			built.err = fmt.Errorf("tank %q: shape: sender: %w", t.Name, err)
			return built
		}
		built.tank, built.sender, built.findings = made, sender, findings
		built.leanings = sync.OnceValues(func() ([]tank.Leaning, error) { return tank.EffectsWith(made, sender) })
		return built
	}
	return t.kept.of(file, t.Folder, t.Name, build)
}

// Leanings tells what a tilt does to the figure shown, as [tank.EffectsWith] does
// of what Built gives. It takes long the first time and is then kept with the
// shape.
func (t Tank) Leanings() ([]tank.Leaning, error) {
	b := t.built()
	if b.err != nil {
		return nil, b.err
	}
	list, err := b.leanings()
	return slices.Clone(list), err
}

// builtShape is what comes of a shape.
type builtShape struct {
	tank     *tank.Tank
	sender   tank.Sender
	findings []finding.Finding
	leanings func() ([]tank.Leaning, error)
	files    bool // other files were read for it
	err      error
}

// keptShape keeps the last shape that was built for a tank of a job that was
// read from a file, with what it was built of: a large mesh isn't read again for
// every figure of a record. Nil keeps nothing.
type keptShape struct {
	sync.Mutex
	key   string
	built builtShape
}

func (k *keptShape) of(file tankfile.File, folder, name string, build func() builtShape) builtShape {
	text, err := json.Marshal(file)
	if err != nil {
		return build()
	}
	key := folder + "\x00" + name + "\x00" + string(text)
	if k == nil {
		return lately.of(key, build)
	}
	k.Lock()
	defer k.Unlock()
	if k.key == key {
		return k.built
	}
	built := lately.of(key, build)
	if built.err == nil { // a file that is missing may be put there
		k.key, k.built = key, built
	}
	return built
}

// lately are the shapes that were built last, of all jobs: a job is read against
// its rules with every reading that is taken, and its shapes stay the same. What
// was made of other files isn't among them, as those may change.
var lately recentShapes

// recentShapes keeps the last shapes by all that they were built of.
type recentShapes struct {
	sync.Mutex
	list []recentShape // the one used last at the end
}

type recentShape struct {
	key   string
	built builtShape
}

// shapesKept is how many there are at most: those of a few jobs.
const shapesKept = 16

func (r *recentShapes) of(key string, build func() builtShape) builtShape {
	same := func(s recentShape) bool { return s.key == key }
	r.Lock()
	if i := slices.IndexFunc(r.list, same); i >= 0 {
		found := r.list[i]
		r.list = append(slices.Delete(r.list, i, i+1), found)
		r.Unlock()
		return found.built
	}
	r.Unlock()
	built := build()
	if built.err != nil || built.files {
		return built
	}
	r.Lock()
	defer r.Unlock()
	r.list = append(slices.DeleteFunc(r.list, same), recentShape{key, built})
	if len(r.list) > shapesKept {
		r.list = slices.Delete(r.list, 0, 1)
	}
	return built
}

// beside opens a file that the shape names. A job that isn't kept beside files
// opens none: who sends a job to a workshop must not choose what is read there.
func (t Tank) beside(name string) (io.ReadCloser, error) {
	if t.Folder == "" {
		return nil, fmt.Errorf("the shape stands in another file, %s, which isn't in the job; state its sizes, or a table of heights and litres", strict.Quoted(name))
	}
	if !filepath.IsAbs(name) {
		name = filepath.Join(t.Folder, name)
	}
	return os.Open(name)
}

// Capacity gives the water capacity in m³: of the shape, or as stated where there
// is none; 0 where neither is known.
func (t Tank) Capacity() quantity.CubicMetre {
	if built, _, _, err := t.Built(); err == nil {
		return built.Capacity()
	}
	return quantity.CubicMetre(t.WaterCapacityL / 1000)
}

// PermittedPct gives the permitted fill in percent of the water capacity, stated
// for the tank or in its shape; 0 where it isn't stated.
func (t Tank) PermittedPct() float64 {
	if t.PermittedFillPct == 0 && t.Shape != nil {
		return t.Shape.PermittedFillPct
	}
	return t.PermittedFillPct
}

// Heel gives what can't be drawn in m³, stated for the tank or in its shape;
// false where it isn't stated.
func (t Tank) Heel() (quantity.CubicMetre, bool) {
	switch {
	case t.HeelL > 0:
		return quantity.CubicMetre(t.HeelL / 1000), true
	case t.Shape == nil || t.Shape.HeelL == nil && t.Shape.HeelMM == nil:
		return 0, false
	}
	built, _, _, err := t.Built()
	if err != nil {
		return 0, false
	}
	return t.Shape.Heel(built)
}

// Filling gives how full the tank is at each mark: through its shape, or in
// proportion for a dial, which is then taken to be marked in percent of volume,
// and for litres of a stated capacity; marks in kg go by the density of the
// contents, for LPG at no less than 15 °C. The error says why it isn't known.
func (t Tank) Filling() (scale.Filling, error) {
	unit := t.Unit()
	if unit == curve.Mass {
		return t.weighed(true)
	}
	if t.Shape != nil {
		built, sender, _, err := t.Built()
		if err != nil {
			return scale.Filling{}, err
		}
		f, err := gauge.Filling(built, sender, unit)
		if plate := quantity.CubicMetre(t.WaterCapacityL / 1000); t.Contents == LPG && plate > 0 {
			// Of gas no more litres are told than either of them allows.
			f.Capacity = min(f.Capacity, plate)
		}
		return f, err
	}
	f, err := gauge.Unshaped(quantity.CubicMetre(t.WaterCapacityL/1000), unit)
	if err != nil || unit != curve.Dial {
		return f, err
	}
	// A dial may begin and end elsewhere than at 0 and 100.
	empty, full, err := t.Ends()
	if err != nil {
		return f, err
	}
	return scale.Straight(unit.FromShown(empty), unit.FromShown(full), f.Capacity, f.Words), nil
}

// throughFilling says whether the scale of a kind goes through what is in the
// tank. Fill without a shape goes by the marks alone, as it did before tanks had
// shapes, but for gas that is weighed.
func (t Tank) throughFilling(kind scale.Kind) bool {
	return kind == scale.Volume || kind == scale.Usable || t.Shape != nil || t.Contents == LPG && t.Unit() == curve.Mass
}

// Findings tells where what is stated of the tank and its shape disagree, and
// what was found in building it; see [tankfile.File.Tank].
func (t Tank) Findings() []finding.Finding {
	if t.Shape == nil {
		return nil
	}
	_, _, list, err := t.Built()
	if err != nil {
		return []finding.Finding{{Kind: "shape", Weight: finding.Bad, Text: err.Error() + "."}}
	}
	return append(list, UncountedPoint(t.Shape)...)
}

// UncountedPoint tells that a point of the sender known in place has no part in
// a scale: bench marks are those that were read, and which of them the head shows
// wrongly isn't stated.
func UncountedPoint(file *tankfile.File) []finding.Finding {
	if file.Sender == nil || file.Sender.KnownPoint == nil {
		return nil
	}
	return []finding.Finding{{Kind: "known-point", Weight: finding.Doubt, Text: "The sender's known point isn't counted in this scale, which goes by the marks as they were read. If the head that was read is the one that sits off, correct the marks first."}}
}

// hangs says whether the shape stands, in whole or in part, in other files.
func (t Tank) hangs() bool { return inOtherFiles(t.Shape.Body) }

func inOtherFiles(b tankfile.Body) bool {
	if b.CSV != "" || b.MeshFile != "" {
		return true
	}
	for _, list := range [][]tankfile.Part{b.Parts, b.Without} {
		for _, p := range list {
			if inOtherFiles(p.Body) {
				return true
			}
		}
	}
	return false
}
