package tank_test

import (
	"testing"

	"gaugewright/internal/tank"
)

// A box of 1 m by 0.5 m by 0.4 m, read 0.4 m forward of its middle: by
// Cavalieri the error is 0.5 m² · 0.4 m · tan of the angle, at every level at
// which the surface touches neither floor nor roof.
func TestSummary(t *testing.T) {
	tk := newTank(t, made(t)(tank.Box(1, 0.5, 0.4)), tank.Sensor{X: 0.4})
	list, err := tank.Effects(tk)
	if err != nil {
		t.Fatal(err)
	}
	// 3.49, 10.48 and 17.5 L, in steps of 2 L: a hundredth of the capacity.
	want := "Parked nose up 3°, it reads 10 L low at half full, and nowhere more. It is off at 1° by at most 4 L, at 5° by at most 18 L."
	if got := tank.Summary(list, 0); got != want {
		t.Errorf("says %q, want %q", got, want)
	}
	middle, err := tank.Effects(newTank(t, made(t)(tank.Box(1, 0.5, 0.4)), tank.Sensor{}))
	if err != nil {
		t.Fatal(err)
	}
	if got := tank.Summary(middle, 0); got == "" {
		t.Error("says nothing of a tank read in its middle")
	}
	if got := tank.Summary(nil, 0); got != "" {
		t.Errorf("says %q of nothing", got)
	}
}
