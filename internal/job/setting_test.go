package job

import (
	"math"
	"reflect"
	"testing"

	"gaugewright/internal/curve"
	"gaugewright/internal/doubt"
	"gaugewright/internal/kin"
	"gaugewright/internal/quantity"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
)

func TestScale(t *testing.T) {
	dial := func(m float64) Reading { return Reading{MarkPct: &m} }
	mm := func(m float64) Reading { return Reading{MarkMM: &m} }
	known := &kin.Known{Marks: "mark_mm", Gives: "ohm", Knots: []kin.Knot{{Mark: 50, Value: 10}, {Mark: 250, Value: 90}}}
	for _, c := range []struct {
		name        string
		tank        Tank
		empty, full float64
		want        string // an error
	}{
		{"nothing known", Tank{Name: "A"}, 0, 1, ""},
		{"dial without setting", Tank{Bench: Bench{Readings: []Reading{dial(10), dial(60)}}}, 0, 1, ""},
		{"dial, fill", Tank{Contents: LPG, PermittedFillPct: 80, Setting: &Setting{Scale: "fill"}}, 0, 0.8, ""},
		{"float, as read", Tank{Bench: Bench{Readings: []Reading{mm(300), mm(20), mm(150)}}}, 0.02, 0.3, ""},
		{"float, as stated", Tank{Bench: Bench{Readings: []Reading{mm(300), mm(20)}}, Setting: &Setting{Scale: "mark", EmptyMark: ptr(0.0), FullMark: ptr(400.0)}}, 0, 0.4, ""},
		{"float of water, fill", Tank{Contents: Water, PermittedFillPct: 90, Bench: Bench{Readings: []Reading{mm(0), mm(200)}}, Setting: &Setting{Scale: "fill"}}, 0, 0.18, ""},
		{"known", Tank{Sender: Sender{Known: known}}, 0.05, 0.25, ""},
		{"known, bench reaches further", Tank{Sender: Sender{Known: known}, Bench: Bench{EmptyMark: ptr(20.0)}}, 0.02, 0.25, ""},
		{"known, bench states both", Tank{Sender: Sender{Known: known}, Bench: Bench{EmptyMark: ptr(60.0), FullMark: ptr(300.0)}}, 0.06, 0.3, ""},
		{"known, but read", Tank{Sender: Sender{Known: known}, Bench: Bench{EmptyMark: ptr(0.0), FullMark: ptr(400.0), Readings: []Reading{mm(300), mm(20)}}}, 0.02, 0.3, ""},
		{"one mark", Tank{Name: "A", Bench: Bench{Readings: []Reading{mm(20)}}}, 0, 0, "the full mark must lie above the empty mark; found empty 20 mm and full 20 mm"},
		{"only checks", Tank{Name: "A", Checks: []Check{{Readings: []CheckPoint{{MarkMM: ptr(5.0)}}}}}, 0, 0, `tank "A" has no bench readings, so the marks at 0 % and 100 % aren't known; state empty_mark and full_mark`},
		{"fill of what", Tank{Name: "A", Setting: &Setting{Scale: "fill"}}, 0, 0, `tank "A": the scale "fill" needs the tank's permitted_fill_pct`},
		{"no such scale", Tank{Name: "A", Setting: &Setting{Scale: "brim"}}, 0, 0, `scale "brim" is not known; expected "mark", "volume", "fill" or "usable"`},
		{"gas too full", Tank{Name: "A", Contents: LPG, PermittedFillPct: 90, Setting: &Setting{Scale: "fill"}}, 0, 0, `tank "A": permitted_fill_pct: found 90; for lpg no permitted fill above 85 is accepted, so that the liquid has room to expand; 80 is common practice, and the local code governs`},
		{"gas by height", Tank{Name: "A", Contents: LPG, PermittedFillPct: 80, Bench: Bench{Readings: []Reading{mm(0), mm(200)}}, Setting: &Setting{Scale: "fill"}}, 0, 0,
			`tank "A": for lpg the scale "fill" needs the tank's shape, or marks in % of the volume or in L; from a mark in mm it can't be told how full the tank is; choose "mark"`},
	} {
		s, err := c.tank.Scale()
		if errText(err) != c.want {
			t.Errorf("%s: found %v, expected %s", c.name, err, c.want)
			continue
		}
		if err != nil {
			continue
		}
		if empty, full := s.Ends(); math.Abs(empty-c.empty) > 1e-15 || math.Abs(full-c.full) > 1e-15 {
			t.Errorf("%s: from %g to %g, expected %g to %g", c.name, empty, full, c.empty, c.full)
		}
	}
}

func TestKeyed(t *testing.T) {
	for _, c := range []struct {
		setting Setting
		want    span.Setting
		err     string
	}{
		{Setting{Readout: TwoPoint, LowerOhm: ptr(240.0), UpperOhm: ptr(33.0)}, span.Ends{Lower: 240, Upper: 33}, ""},
		{Setting{Readout: Table, Table: []Entry{{10, 0}, {95, 50}, {180, 100}}}, span.Table{{Ohm: 10, Share: 0}, {Ohm: 95, Share: 0.5}, {Ohm: 180, Share: 1}}, ""},
		{Setting{Readout: TwoPoint, LowerOhm: ptr(240.0)}, nil, "a two-point readout needs lower_ohm and upper_ohm"},
		{Setting{Readout: TwoPoint, LowerOhm: ptr(5.0), UpperOhm: ptr(5.0)}, nil, "both end values are 5 ohm, so nothing could be shown between them"},
		{Setting{Readout: Table, Table: []Entry{{10, 0}}}, nil, "a table readout needs a table of two entries or more; found 1"},
		{Setting{Readout: Table, Table: []Entry{{10, 0}, {9, 1}}}, nil, "9 ohm after 10 ohm; the ohms of a table rise from each entry to the next"},
		{Setting{Readout: "needle"}, nil, `readout "needle" is not known; expected "two-point", "table" or "ends-then-table"`},
	} {
		found, err := c.setting.Keyed()
		if errText(err) != c.err || !reflect.DeepEqual(found, c.want) {
			t.Errorf("found %v, %v; expected %v, %s", found, err, c.want, c.err)
		}
	}
}

func TestKeyGivesTheSettingBack(t *testing.T) {
	for _, chosen := range []span.Setting{
		span.Ends{Lower: 0, Upper: 101}, span.Ends{Lower: 240.5, Upper: 33},
		span.Table{{Ohm: 0.6, Share: 0}, {Ohm: 40.1, Share: 0.57}, {Ohm: 80, Share: 1}}, // 0.57 × 100 is 56.99999999999999
	} {
		j, _ := sample(t)
		k := &j.Tanks[0]
		how := Setting{Scale: string(scale.Fill), StepOhm: 1, By: "B. Example", Date: "2025-11-06", LowerOhm: ptr(7.0), Table: []Entry{{1, 1}}}
		if err := k.Key(chosen, how); err != nil {
			t.Fatal(err)
		}
		if found, err := k.Setting.Keyed(); err != nil || !reflect.DeepEqual(found, chosen) {
			t.Errorf("found %v, %v; expected %v", found, err, chosen)
		}
		if s := k.Setting; s.Scale != "fill" || s.StepOhm != 1 || s.By != "B. Example" || s.Date != "2025-11-06" {
			t.Errorf("stored as %+v", *s)
		}
		if _, err := j.Encode(); err != nil {
			t.Error(err)
		}
		if len(how.Table) != 1 || *how.LowerOhm != 7 {
			t.Error("Key changed what it was given")
		}
	}
}

func TestKeyTurnsEarlierChecksIntoAsFound(t *testing.T) {
	j, _ := sample(t)
	k := &j.Tanks[0]
	checks := k.Checks
	again := *k.Setting
	again.Date = "2025-11-09"
	if err := k.Key(span.Ends{Lower: 0, Upper: 81}, again); err != nil {
		t.Fatal(err)
	}
	if k.Checks[1].When != AsLeft {
		t.Error("the same numbers keyed in again made the check as found")
	}
	if err := k.Key(span.Ends{Lower: 0, Upper: 82}, again); err != nil {
		t.Fatal(err)
	}
	if k.Checks[1].When != AsFound || checks[1].When != AsLeft {
		t.Errorf("the check is %q, and in the caller's list %q", k.Checks[1].When, checks[1].When)
	}
	if next := k.Next(); next != "Prove: check the display at three marks" {
		t.Errorf("next is %q", next)
	}
}

func TestKeyRefuses(t *testing.T) {
	for _, c := range []struct {
		chosen span.Setting
		how    Setting
		want   string
	}{
		{span.Ends{Lower: 5, Upper: 5}, Setting{}, "both end values are 5 ohm, so nothing could be shown between them"},
		{span.Table{{Ohm: 5}}, Setting{}, "a table readout needs a table of two entries or more; found 1"},
		{span.Ends{Lower: 0, Upper: 81}, Setting{Scale: "fill", EmptyMark: ptr(60.0)}, `tank "Gas": scale: this scale would show 100 % at 92 %, above 85 % of the tank; for lpg that is not accepted; correct permitted_fill_pct, empty_mark or full_mark`},
		{span.Ends{Lower: 0, Upper: 81}, Setting{EmptyMark: ptr(100.0)}, `tank "Gas": setting: the full mark must lie above the empty mark; found empty 100 % and full 100 %`},
		{nil, Setting{}, "a setting of type <nil> can't be stored in a job"},
	} {
		j, _ := sample(t)
		want, _ := sample(t)
		if err := j.Tanks[0].Key(c.chosen, c.how); errText(err) != c.want {
			t.Errorf("found %v, expected %s", err, c.want)
		}
		same(t, j, want)
	}
}

func TestProofs(t *testing.T) {
	j, _ := sample(t)
	proofs, err := j.Tanks[0].Proofs()
	if err != nil || len(proofs) != 2 {
		t.Fatalf("found %v, %v", proofs, err)
	}
	// By hand: on the permitted fill of 80 % the marks 20, 40 and 80 should be
	// shown as 25, 50 and 100.
	if s := proofs[0].Proof.Sentence(); proofs[0].Proof.Pass || s != "1 of 3 within 2 points" {
		t.Errorf("as found: %s", s)
	}
	if s := proofs[1].Proof.Sentence(); !proofs[1].Proof.Pass || s != "3 of 3 within 2 points" {
		t.Errorf("as left: %s", s)
	}
	for i, want := range []quantity.Share{0.25, 0.5, 1} {
		if found := proofs[1].Proof.Rows[i].Target; math.Abs(float64(found-want)) > 1e-12 {
			t.Errorf("mark %d should be shown as %v, expected %v", i, found, want)
		}
	}
	if proofs[1].Proof.Rows[2].Note != "pointer held by hand" || proofs[1].Check.When != AsLeft {
		t.Errorf("found %+v", proofs[1])
	}
	if none, err := j.Tanks[2].Proofs(); none != nil || err != nil {
		t.Errorf("found %v, %v where no check was made", none, err)
	}
	j.Tanks[0].Checks[0].Readings[1].SetMark(3, curve.Mass)
	if _, err := j.Tanks[0].Proofs(); errText(err) != `reading 2 of check 1 of tank "Gas" has no mark in %` {
		t.Errorf("found %v", err)
	}
}

// The doubt of a check, by hand. Ohms 10 up and 12 down at empty and 100 Ω more
// at full: half the hysteresis is 1 Ω, rectangular, and the repeatability of
// one reading is √((0.1² + 0.1²)/1) = √0.02 Ω; between the end values 11 and 111
// an ohm is a point. With a display of whole percent and a mark held to half a
// point, in points²: 1/12 + 0.5²/3 + 1/3 + 0.02 = 0.52.
func TestProofsDoubt(t *testing.T) {
	k := Tank{Name: "Water", Contents: Water, Setting: &Setting{Readout: TwoPoint, Scale: "mark", LowerOhm: ptr(11.0), UpperOhm: ptr(111.0)}}
	for _, r := range []struct {
		mark, ohm float64
		sweep     string
	}{{0, 10, "up"}, {50, 60, "up"}, {100, 110, "up"}, {100, 112, "down"}, {50, 61.9, "down"}, {50, 62.1, "down"}, {0, 12, "down"}} {
		k.Bench.Readings = append(k.Bench.Readings, Reading{MarkPct: ptr(r.mark), Ohm: r.ohm, Sweep: r.sweep})
	}
	looked := []CheckPoint{{MarkPct: ptr(0.0), ShownPct: 0}, {MarkPct: ptr(50.0), ShownPct: 51}, {MarkPct: ptr(100.0), ShownPct: 98}}
	k.Checks = []Check{{When: AsFound, TolerancePct: 2, Readings: looked}, {When: AsLeft, TolerancePct: 2, Readings: looked}}
	all, none := math.Sqrt(0.52), math.Sqrt(1.0/6)
	judge := func(name string, found, left float64, verdict doubt.Verdict) {
		t.Helper()
		proofs, err := k.Proofs()
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range []float64{found, left} {
			for _, r := range proofs[i].Proof.Rows {
				if got := float64(r.U) * 100; math.Abs(got-want) > 1e-9 {
					t.Errorf("%s, %s, mark %g: u = %v points, want %v", name, proofs[i].Check.When, r.Mark, got, want)
				}
			}
		}
		if v := proofs[1].Proof.Rows[1].Verdict; v != verdict {
			t.Errorf("%s: %v, want %v", name, v, verdict)
		}
	}
	// 1 point off with ±1.44 against 2 is no clear pass; with ±0.82 it is one.
	judge("all known", none, all, doubt.ConditionalPass)
	keyed := k.Setting
	k.Setting = nil
	judge("nothing keyed in", none, none, doubt.Pass)
	k.Setting, k.Bench.Readings = keyed, nil
	judge("no curve", none, none, doubt.Pass)
}

func TestSenderDoubtIsKnownOnlyWithinTheReadings(t *testing.T) {
	fit := func(ohms ...quantity.Ohm) *curve.Curve {
		var sheet curve.Sheet
		for i, r := range ohms {
			sheet.Readings = append(sheet.Readings, curve.Reading{Mark: 0.1 + float64(i)/10, Ohm: r})
		}
		c, err := curve.Fit(sheet, curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	ends := span.Ends{Lower: 0, Upper: 90}
	of := SenderDoubt(fit(10, 20, 30, 40, 50, 60), ends)
	for mark, want := range map[float64]bool{0.05: false, 0.1: true, 0.35: true, 0.6: true, 0.7: false} {
		if u, known := of(mark); known != want || u != 0 {
			t.Errorf("mark %g: %v, %v; nothing scatters in these readings", mark, u, known)
		}
	}
	if SenderDoubt(fit(10, 90, 20, 80, 12), ends) != nil {
		t.Error("the doubt of a sender without order is known")
	}
}
