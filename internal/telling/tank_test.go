package telling_test

import (
	"errors"
	"strings"
	"testing"

	"gaugewright/internal/golden"
	"gaugewright/internal/tank"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/telling"
)

// report is of an invented box of 500 by 400 by 300 mm, 60 L by length × width ×
// height.
func report(t *testing.T, sender string) telling.TankReport {
	t.Helper()
	const box = `{"version": 1, "name": "Stall water", "shape": "box", "length_mm": 500, "width_mm": 400, "height_mm": 300, "permitted_fill_pct": 95, "heel_l": 2`
	file := must[*tankfile.File](t)(tankfile.Read(strings.NewReader(box+sender+"}"), "box.json"))
	built, found, err := file.Tank(nil)
	if err != nil {
		t.Fatal(err)
	}
	return telling.TankReport{File: file, Tank: built, Levels: built.Upright(), Sender: must[tank.Sender](t)(file.SenderIn(built)), Findings: found}
}

func TestTankGolden(t *testing.T) {
	r := report(t, "")
	var s sheet
	s.say(r.Lines()...)
	g, notes := r.Heights()
	s.grid(t, g)
	s.say(notes...)
	if err := r.Tell(true); err != nil {
		t.Fatal(err)
	}
	s.findings(r.Findings)
	golden.Check(t, "tank.txt", []byte(s.String()))
	if len(g.Rows) != 11 || g.Rows[5][1] != "30" && g.Rows[5][1] != "30.00" {
		t.Errorf("half of 60 L is told as %q", g.Rows)
	}
}

func TestTankAnswers(t *testing.T) {
	r := report(t, "")
	l, err := r.ByHeight("150mm")
	if err != nil || telling.Litres(l.Volume) != "30.0" {
		t.Errorf("%v, %+v", err, l)
	}
	if l, err = r.ByVolume("45L"); err != nil || l.Height < 0.2249 || l.Height > 0.2251 {
		t.Errorf("%v, %+v", err, l)
	}
	if _, err = r.ByMark("40%"); !errors.Is(err, telling.ErrNoSender) {
		t.Errorf("a mark without a sender: %v", err)
	}
	for _, text := range []string{"301mm", "-1mm", "40"} {
		if _, err := r.ByHeight(text); err == nil {
			t.Errorf("%s passed for a height in the tank", text)
		}
	}
}
