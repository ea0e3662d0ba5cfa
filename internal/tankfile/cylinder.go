package tankfile

import (
	"fmt"

	"gaugewright/internal/quantity"
	"gaugewright/internal/strict"
	"gaugewright/internal/tank"
)

// KindDeepHeads is the kind of the finding on heads deeper than their shell.
const KindDeepHeads = "heads-deeper-than-shell"

// cylinder makes a cylinder with its heads. A wall takes twice its thickness
// off the diameter. What it takes off the length hangs on the heads: a flat one
// is a plate across the shell's end, a curved one stands before it.
func (b *builder) cylinder(y Body, path []string) (tank.Solid, error) {
	inside, err := walls(y, path, field{"diameter_mm", y.DiameterMM})
	if err != nil {
		return nil, err
	}
	diameter, wall := inside[0], metres(y.WallMM)
	ends, err := y.ends(path)
	if err != nil {
		return nil, err
	}
	var heads [2]tank.Head
	var depths [2]float64
	straight := metres(y.LengthMM)
	for i, e := range ends {
		if heads[i], err = e.head(metres(y.DiameterMM)); err != nil {
			return nil, err
		}
		if depths[i], err = heads[i].Depth(diameter); err != nil {
			return nil, &fault{path: e.path, msg: err.Error()}
		}
		if heads[i].Kind == tank.Flat {
			straight -= wall
		}
	}
	if y.OverallLengthMM > 0 {
		room := depths[0] + depths[1] + 2*wall
		straight = metres(y.OverallLengthMM) - room
		// What was meant as two heads without a shell between may be off by
		// the last digit.
		if straight < 0 && straight > -1e-9 {
			straight = 0
		}
		if straight < 0 {
			walls := ""
			if wall > 0 {
				walls = fmt.Sprintf(", and with two walls take %s", quantity.Metre(room))
			}
			return nil, &fault{path: below(path, "overall_length_mm"), msg: fmt.Sprintf(
				"the heads are %s and %s deep inside%s, more than the overall length of %s; is it the straight part? then write length_mm",
				quantity.Metre(depths[0]), quantity.Metre(depths[1]), walls, quantity.Metre(metres(y.OverallLengthMM)))}
		}
	} else if !(straight > 0) {
		return nil, tooThick(y, path, field{"length_mm", y.LengthMM})
	}
	if deep := depths[0] + depths[1]; y.OverallLengthMM == 0 && deep > straight {
		b.doubt(KindDeepHeads, path, "The heads are together %s deep, more than the straight part of %s. length_mm is the straight part without the heads: if %s was measured over both heads, write overall_length_mm.",
			quantity.Metre(deep), quantity.Metre(straight), quantity.Metre(metres(y.LengthMM)))
	}
	return placed(path)(tank.Cylinder(diameter, straight, y.Shape == LyingCylinder, heads[0], heads[1]))
}

// end is one head with its place in the file.
type end struct {
	Head
	path []string
}

// ends gives the heads in the order left, right, or bottom, top. Radii beside
// the heads are those of torispherical ones that don't state their own.
func (y Body) ends(path []string) ([2]end, error) {
	var ends [2]end
	names := [2]string{"left", "right"}
	given := [2]*Head{}
	if y.Heads != nil {
		given = [2]*Head{y.Heads.Left, y.Heads.Right}
	}
	if y.Shape == UprightCylinder {
		names = [2]string{"bottom", "top"}
		if y.Heads != nil {
			given = [2]*Head{y.Heads.Bottom, y.Heads.Top}
		}
	}
	used := false
	for i := range ends {
		e := end{Head{Kind: "flat"}, below(path, "heads")}
		switch {
		case given[i] != nil:
			e = end{*given[i], below(path, "heads", names[i])}
		case y.Heads != nil && y.Heads.Both != "":
			e.Kind = y.Heads.Both
		}
		if e.Kind == string(tank.Torispherical) {
			if e.CrownMM == 0 {
				e.CrownMM, used = y.CrownMM, true
			}
			if e.KnuckleMM == nil {
				e.KnuckleMM, used = y.KnuckleMM, true
			}
		}
		ends[i] = e
	}
	for _, r := range []struct {
		name  string
		there bool
	}{{"crown_mm", y.CrownMM != 0}, {"knuckle_mm", y.KnuckleMM != nil}} {
		if r.there && !used {
			return ends, &fault{path: below(path, r.name), msg: fmt.Sprintf("%s is of torispherical heads, and there is none that needs it; delete it, or write \"heads\": \"torispherical\"", r.name)}
		}
	}
	return ends, nil
}

// head gives the head for a shell; the basis of the named proportions is its
// outside diameter in metres, which is the inside one where there is no wall.
func (e end) head(basis float64) (tank.Head, error) {
	torispherical := e.Kind == string(tank.Torispherical)
	if !torispherical && (e.CrownMM != 0 || e.KnuckleMM != nil) {
		return tank.Head{}, &fault{path: e.path, msg: fmt.Sprintf("%s heads have their own radii; delete crown_mm and knuckle_mm, or make the kind \"torispherical\"", e.Kind)}
	}
	switch e.Kind {
	case "kloepper":
		return tank.Kloepper(basis), nil
	case "korbbogen":
		return tank.Korbbogen(basis), nil
	case "asme-fd":
		return tank.ASMEFlangedDished(basis), nil
	case string(tank.Flat), string(tank.Hemispherical), string(tank.Ellipsoidal):
		return tank.Head{Kind: tank.HeadKind(e.Kind)}, nil
	}
	if !torispherical {
		return tank.Head{}, &fault{path: e.path, msg: fmt.Sprintf("unknown head %s", strict.Quoted(e.Kind))}
	}
	if e.CrownMM == 0 || e.KnuckleMM == nil {
		return tank.Head{}, &fault{path: e.path, msg: "torispherical heads need crown_mm and knuckle_mm, the inside radii of crown and knuckle; state both"}
	}
	return tank.Head{Kind: tank.Torispherical, Crown: metres(e.CrownMM), Knuckle: metres(*e.KnuckleMM)}, nil
}
