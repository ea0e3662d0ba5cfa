package main

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"
	"time"

	"gaugewright/internal/docket"
	"gaugewright/internal/quantity"
)

// docketReport is what was learned of one tank.
type docketReport struct {
	tank     docket.Tank
	learned  docket.Learned
	cautions []string
	zone     *time.Location
}

// What `docket --json` gives. Levels are in percent of the scale, amounts in litres and
// kilograms; what isn't known is null.
type (
	docketJSON struct {
		Dockets  []docketOne    `json:"dockets"` // the latest first
		Count    int            `json:"count"`   // that count
		Helps    bool           `json:"helps"`   // levels are nearer to the truth with it, beyond doubt
		Better   float64        `json:"better_p"`
		Was      *float64       `json:"error_without_pct"` // the largest to be expected
		Is       *float64       `json:"error_with_pct"`
		Curve    []docketLevel  `json:"curve"`
		Capacity docketCapacity `json:"capacity"`
		Propose  bool           `json:"propose"`
		Lower    *float64       `json:"lower"`
		Upper    *float64       `json:"upper"`
		Unit     string         `json:"unit"`
		Reason   string         `json:"reason"`
		Cautions []string       `json:"cautions"`
	}
	docketOne struct {
		ID      string    `json:"id"`
		Time    time.Time `json:"time"`
		Kind    string    `json:"kind"`
		Litres  *float64  `json:"litres"`
		Kg      *float64  `json:"kg"`
		Before  *float64  `json:"level_before_pct"`
		After   *float64  `json:"level_after_pct"`
		Stopped bool      `json:"stopped"`
		Counts  bool      `json:"counts"`
		Wrong   float64   `json:"wrong_p"`
		Rise    *float64  `json:"rise_l"`
		Low     *float64  `json:"low_l"`
		High    *float64  `json:"high_l"`
		Verdict string    `json:"verdict"`
		Caution string    `json:"caution"`
	}
	docketLevel struct {
		Shown float64 `json:"shown_pct"`
		Level float64 `json:"level_pct"`
		U     float64 `json:"u_pct"`
	}
	docketCapacity struct {
		Stated  *float64 `json:"stated_l"`
		Learned *float64 `json:"learned_l"`
		U       *float64 `json:"u_l"`
	}
)

// knownFigure gives a figure to so many digits, nil where it isn't one.
func knownFigure(v float64, digits int) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = quantity.Round(v, digits)
	return &v
}

func (r *docketReport) result() docketJSON {
	l := r.learned
	out := docketJSON{Dockets: []docketOne{}, Count: l.N, Helps: l.Helps, Better: quantity.Round(l.Better, 3), Curve: []docketLevel{}, Propose: l.Propose, Unit: r.tank.SignalUnit, Reason: l.Reason, Cautions: append([]string{}, r.said()...)}
	for _, v := range l.Verdicts {
		d := v.Seen.Docket
		one := docketOne{ID: d.ID, Time: d.Time.In(r.zone), Kind: string(d.Kind), Stopped: d.Stopped, Counts: v.Counts, Wrong: quantity.Round(v.Wrong, 3), Verdict: v.Sentence, Caution: v.Caution,
			Rise: knownFigure(v.Rise, 2), Low: knownFigure(v.Low, 2), High: knownFigure(v.High, 2)}
		if d.Litres > 0 {
			one.Litres = knownFigure(d.Litres, 3)
		}
		if d.Kilograms > 0 {
			one.Kg = knownFigure(d.Kilograms, 3)
		}
		if v.Seen.Before >= 0 {
			one.Before = knownFigure(100*v.Seen.Before, 2)
		}
		if v.Seen.After >= 0 {
			one.After = knownFigure(100*v.Seen.After, 2)
		}
		out.Dockets = append(out.Dockets, one)
	}
	if l.Correction != nil {
		out.Was, out.Is = knownFigure(100*l.Was, 2), knownFigure(100*l.Is, 2)
		for i := 0; i <= 100; i += 5 {
			level, u := l.Correction.At(float64(i) / 100)
			out.Curve = append(out.Curve, docketLevel{float64(i), quantity.Round(100*level, 2), quantity.Round(100*u, 2)})
		}
	}
	if r.tank.Full > 0 {
		out.Capacity.Stated = knownFigure(1000*float64(r.tank.Full), 3)
	}
	if l.Capacity > 0 {
		out.Capacity.Learned, out.Capacity.U = knownFigure(1000*float64(l.Capacity), 2), knownFigure(1000*float64(l.UCapacity), 2)
	}
	if l.Propose {
		out.Lower, out.Upper = knownFigure(l.Lower, 3), knownFigure(l.Upper, 3)
	}
	return out
}

// said gives the cautions of the tank, and where none are known those of what was learned.
func (r *docketReport) said() []string {
	if len(r.cautions) > 0 {
		return r.cautions
	}
	return r.learned.Cautions
}

func (r *docketReport) print(w io.Writer) {
	l := r.learned
	for i := len(l.Verdicts) - 1; i >= 0; i-- { // in the order in which they came
		v := l.Verdicts[i]
		d := v.Seen.Docket
		fmt.Fprintf(w, "%s  %s: %s\n", d.Time.In(r.zone).Format("2 Jan 2006 15:04"), d.Kind, v.Sentence)
		if v.Caution != "" {
			fmt.Fprintf(w, "  %s\n", v.Caution)
		}
	}
	fmt.Fprintln(w)
	if l.Correction == nil {
		fmt.Fprintln(w, l.Reason)
	} else {
		r.printLearned(w)
	}
	for _, c := range r.said() {
		fmt.Fprintln(w, c)
	}
}

func (r *docketReport) printLearned(w io.Writer) {
	l := r.learned
	fmt.Fprintf(w, "What the sender shows, and what there is by %s that count (± one standard uncertainty):\n\n", plural(int64(l.N), "docket"))
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "shown\tthere is\t±\t")
	for i := 0; i <= 100; i += 10 {
		level, u := l.Correction.At(float64(i) / 100)
		fmt.Fprintf(table, "%d %%\t%.1f %%\t%.1f\t\n", i, 100*level, 100*u)
	}
	table.Flush()
	fmt.Fprintln(w)
	if l.Helps {
		fmt.Fprintf(w, "Levels that are corrected so are nearer to the truth beyond doubt: the largest error to be expected is %.1f points in place of %.1f.\n", 100*l.Is, 100*l.Was)
	} else {
		fmt.Fprintf(w, "It isn't beyond doubt that levels corrected so would be nearer to the truth (probability %.0f %%), so they are best left as they are.\n", 100*l.Better)
	}
	if l.Capacity > 0 {
		fmt.Fprintf(w, "The scale holds %s ± %s", r.tank.Units.VolumeText(l.Capacity), r.tank.Units.VolumeText(l.UCapacity))
		if r.tank.Full > 0 {
			fmt.Fprintf(w, "; stated is %s", r.tank.Units.VolumeText(r.tank.Full))
		}
		fmt.Fprintln(w, ".")
	}
	if l.Propose {
		fmt.Fprintf(w, "To key in instead, by a fitter: %g and %g %s. ", l.Lower, l.Upper, r.tank.SignalUnit)
	}
	fmt.Fprintln(w, l.Reason)
}
