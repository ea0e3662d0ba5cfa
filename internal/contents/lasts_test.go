package contents_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
)

func lastsBurn(kg, u float64, low, high float64) (contents.Supply, contents.Load) {
	return contents.Supply{Name: "gas", Left: contents.Known{Value: kg, U: u}},
		contents.Load{Name: "burner", Kind: contents.KilogramsPerSecond, Rate: contents.Between{Low: low / 3.6e6, High: high / 3.6e6}, HoursPerDay: contents.Exactly(24)}
}

func lastsEstimate(t *testing.T, what string, got, want contents.Estimate, relative float64) {
	t.Helper()
	loadsNear(t, what+", low", got.Low, want.Low, relative)
	loadsNear(t, what+", mid", got.Mid, want.Mid, relative)
	loadsNear(t, what+", high", got.High, want.High, relative)
}

// The closed forms that need no computer: 5 kg at 130 g/h are 38.4615 h; a
// normal amount over an exact rate is normal (97.5 % at 1.959963984540054); an
// exact amount over a rectangular rate takes the rate's quantiles.
func TestBurnTimeClosedForms(t *testing.T) {
	const z = 1.959963984540054
	for name, test := range map[string]struct {
		kg, u, low, high float64
		want             contents.Estimate
	}{
		"exact":                  {5, 0, 130, 130, contents.Estimate{Low: 38.461538461538, Mid: 38.461538461538, High: 38.461538461538}},
		"normal":                 {5, 0.25, 130, 130, contents.Estimate{Low: (5 - z*0.25) / 0.13, Mid: 5 / 0.13, High: (5 + z*0.25) / 0.13}},
		"rectangular":            {5, 0, 100, 160, contents.Estimate{Low: 5 / 0.1585, Mid: 5 / 0.13, High: 5 / 0.1015}},
		"nothing":                {0, 0, 100, 160, contents.Estimate{}},
		"half below":             {0, 0.25, 130, 130, contents.Estimate{Low: 0, Mid: 0, High: z * 0.25 / 0.13}},
		"no gas, hardly a doubt": {0, 1e-303, 228, 342, contents.Estimate{}},
		"tiny doubt":             {5, 1e-9, 130, 130, contents.Estimate{Low: 5 / 0.13, Mid: 5 / 0.13, High: 5 / 0.13}},
	} {
		s, l := lastsBurn(test.kg, test.u, test.low, test.high)
		got, err := contents.BurnTime(s, l)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		lastsEstimate(t, name, got.Hours(), test.want, 1e-8)
	}
}

// A plate of 2.2 kW that doesn't say what it counts: the ends are those of net
// and of gross, the middle the middle between.
func TestBurnTimeOfAPlate(t *testing.T) {
	got, err := contents.BurnTime(loadsPropane(), contents.Load{Name: "heater", Rate: contents.Exactly(2200)})
	if err != nil {
		t.Fatal(err)
	}
	net, gross := 10*46.33356/2.2/3.6, 10*50.32634/2.2/3.6
	lastsEstimate(t, "heater", got.Hours(), contents.Estimate{Low: net, Mid: (net + gross) / 2, High: gross}, 1e-9)
	s := loadsPropane()
	s.Heel = contents.Exactly(2)
	lessHeel, err := contents.BurnTime(s, contents.Load{Name: "heater", Rate: contents.Exactly(2200)})
	if err != nil {
		t.Fatal(err)
	}
	loadsNear(t, "without the heel", lessHeel.Low, 0.8*got.Low, 1e-9)
}

// Ranges of what is left and of the heel go by Monte Carlo: somewhere between 4
// and 6 kg over 130 g/h has the quantiles 4.05, 5 and 5.95 kg; and next to
// nothing lasts as long as anything is told.
func TestBurnTimeOfRanges(t *testing.T) {
	s, l := lastsBurn(0, 0, 130, 130)
	s.Left = contents.KnownBetween(4, 6)
	got, err := contents.BurnTime(s, l)
	if err != nil {
		t.Fatal(err)
	}
	lastsEstimate(t, "left", got.Hours(), contents.Estimate{Low: 4.05 / 0.13, Mid: 5 / 0.13, High: 5.95 / 0.13}, 0.01)
	s.Left, s.Heel = contents.Known{Value: 6}, contents.Between{Low: 0, High: 2}
	if got, err = contents.BurnTime(s, l); err != nil {
		t.Fatal(err)
	}
	lastsEstimate(t, "heel", got.Hours(), contents.Estimate{Low: 4.05 / 0.13, Mid: 5 / 0.13, High: 5.95 / 0.13}, 0.01)
	l.Rate = contents.Exactly(1e-300)
	for _, half := range []float64{0, 1} {
		s.Left.Half = half
		if got, err = contents.BurnTime(s, l); err != nil || got != (contents.Duration{Low: contents.Longest, Mid: contents.Longest, High: contents.Longest}) {
			t.Errorf("next to nothing: %v, %v", got, err)
		}
	}
}

func TestBurnTimeRefuses(t *testing.T) {
	s := loadsPropane()
	for want, l := range map[string]contents.Load{
		"lamp draws nothing; expected a rate above 0":    {Name: "lamp"},
		"state what it draws while it runs":              {Name: "flush", Kind: contents.CubicMetresPerUse, Rate: contents.Exactly(1)},
		"the rate of lamp is -1 kW; expected 0 to 10000": {Name: "lamp", Rate: contents.Exactly(-1000)},
	} {
		if d, err := contents.BurnTime(s, l); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, %v; want %q", d, err, want)
		}
	}
}

// What Monte Carlo finds has to be what the closed form says, for the cases that
// have one.
func TestLastsAgreesWithTheClosedForm(t *testing.T) {
	for _, test := range [][4]float64{{5, 0.25, 130, 130}, {5, 0.25, 100, 160}, {5, 0, 100, 160}, {1, 0.6, 20, 200}, {0.1, 0.3, 50, 60}, {11, 1, 0, 300}} {
		s, l := lastsBurn(test[0], test[1], test[2], test[3])
		exact, err := contents.BurnTime(s, l)
		if err != nil {
			t.Fatal(err)
		}
		got, err := contents.Lasts(s, []contents.Load{l})
		if err != nil {
			t.Fatal(err)
		}
		// Held against each other as t/(t + T), which is finite: its slope in t is
		// 1/4 at the usual time T and less on either side. The quantiles of so many
		// trials scatter by less than 0.005 of that.
		usual := (test[0] + 2*test[1]) / ((test[2] + test[3]) / 2 / 1000) * 3600
		for _, pair := range [][2]float64{{got.Left.Low, exact.Low}, {got.Left.Mid, exact.Mid}, {got.Left.High, exact.High}} {
			if x, y := pair[0]/(pair[0]+usual), pair[1]/(pair[1]+usual); math.Abs(x-y) > 0.005 {
				t.Errorf("%v: Monte Carlo %v, closed form %v", test, got.Left.Hours(), exact.Hours())
			}
		}
	}
}

// Simulated tanks: the truth is drawn from what is known beforehand, the level
// is read with its doubt, and the interval has to hold the true time in about
// 95 of a hundred.
func TestLastsCovers(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	const trials = 3000
	held := 0
	for range trials {
		truth := 2 + 8*random.Float64()
		const u = 0.4
		rate := 100 + 100*random.Float64()
		s, l := lastsBurn(max(0, truth+u*random.NormFloat64()), u, 100, 200)
		got, err := contents.BurnTime(s, l)
		if err != nil {
			t.Fatal(err)
		}
		if hours := truth / rate * 1000; got.Hours().Low <= hours && hours <= got.Hours().High {
			held++
		}
	}
	// The standard deviation of the share is 0.4 %.
	if share := float64(held) / trials; share < 0.935 || share > 0.965 {
		t.Errorf("%.1f %% of the intervals hold the truth, want 95 %%", 100*share)
	}
}

func TestLastsNothingAndEmpty(t *testing.T) {
	s, l := lastsBurn(5, 0.2, 100, 200)
	l.HoursPerDay = contents.Between{}
	for name, loads := range map[string][]contents.Load{"no load": nil, "none that runs": {l}} {
		got, err := contents.Lasts(s, loads)
		if err != nil || !got.Nothing || got.Left != (contents.Duration{}) {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
		if text := got.Sentence(time.Time{}); text != "Nothing uses the gas." {
			t.Errorf("%s: %q", name, text)
		}
		if _, ok := got.RefillBy(time.Time{}); ok {
			t.Errorf("%s: a day to refill by", name)
		}
	}
	l.HoursPerDay = contents.Exactly(3)
	s.Left, s.Heel = contents.Known{Value: 0.1, U: 0.01}, contents.Exactly(0.4)
	got, err := contents.Lasts(s, []contents.Load{l})
	if err != nil || !got.Empty || got.Left != (contents.Duration{}) {
		t.Fatalf("below the heel: %+v, %v", got, err)
	}
	if finding.Worst(got.Findings) != finding.Bad || !strings.Contains(got.Sentence(time.Time{}), "refill now") {
		t.Errorf("below the heel: %q, %v", got.Sentence(time.Time{}), got.Findings)
	}
	s.Left = contents.Known{Value: 0.5, U: 0.2}
	if got, err = contents.Lasts(s, []contents.Load{l}); err != nil || got.Empty || finding.Worst(got.Findings) != finding.Doubt {
		t.Errorf("within its doubt of the heel: %+v, %v", got, err)
	}
	if text := got.Sentence(time.Date(2025, 11, 5, 9, 0, 0, 0, time.UTC)); !strings.Contains(text, "at most") || !strings.HasSuffix(text, "refill today.") {
		t.Errorf("within its doubt of the heel: %q", text)
	}
}

// No NaN or infinity where ranges begin at nothing or figures are extreme.
func TestLastsStaysFinite(t *testing.T) {
	s, l := lastsBurn(5, 0.2, 0, 1e-9)
	zero := l
	zero.Rate, zero.HoursPerDay = contents.Between{Low: 0, High: 1e-300}, contents.Between{Low: 0, High: 1}
	huge, much := lastsBurn(1e7, 1e6, 1e7, 1e8)
	for name, test := range map[string]struct {
		s contents.Supply
		l contents.Load
	}{"next to nothing": {s, l}, "almost zero": {s, zero}, "huge": {huge, much}} {
		got, err := contents.Lasts(test.s, []contents.Load{test.l})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, v := range []float64{got.Left.Low, got.Left.Mid, got.Left.High, got.PerDay.Low, got.PerDay.Mid, got.PerDay.High} {
			if math.IsNaN(v) || v < 0 || v > 1e12 {
				t.Errorf("%s: %v in %+v", name, v, got)
			}
		}
		if text := got.Sentence(time.Time{}); strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
			t.Errorf("%s: %q", name, text)
		}
	}
}

// An invented food stall with four loads.
func TestLastsShares(t *testing.T) {
	s := loadsPropane()
	s.Left.U, s.Heel = 0.5, contents.Exactly(0.3)
	loads := contents.GasLoads()[:4]
	got, err := contents.Lasts(s, loads)
	if err != nil {
		t.Fatal(err)
	}
	sum, least, most, mean := 0.0, 0.0, 0.0, 0.0
	for i, p := range got.Parts {
		if p.Name != loads[i].Name {
			t.Errorf("part %d is %q", i, p.Name)
		}
		if !(p.PerDay.Low <= p.Mean && p.Mean <= p.PerDay.High) {
			t.Errorf("%s: mean %v outside %v", p.Name, p.Mean, p.PerDay)
		}
		sum, mean, least, most = sum+float64(p.Share), mean+p.Mean, least+p.PerDay.Low, most+p.PerDay.High
	}
	loadsNear(t, "shares", sum, 1, 1e-12)
	if !(least < got.PerDay.Low && got.PerDay.Low < got.PerDay.Mid && got.PerDay.Mid < got.PerDay.High && got.PerDay.High < most) {
		t.Errorf("%v isn't within %v to %v", got.PerDay, least, most)
	}
	loadsNear(t, "middle of the use", got.PerDay.Mid, mean, 0.1)
	if !(got.Left.Low < got.Left.Mid && got.Left.Mid < got.Left.High) {
		t.Errorf("left: %v", got.Left)
	}
	again, _ := contents.Lasts(s, loads)
	if again.Left != got.Left || again.PerDay != got.PerDay {
		t.Error("a second time it comes out otherwise")
	}
	if got.Findings[0].Kind != "usual-loads" || !strings.HasPrefix(got.Findings[0].Text, "4 of 4 loads") {
		t.Errorf("findings: %v", got.Findings)
	}
}

func TestDurationInWords(t *testing.T) {
	const day, hour, minute = 86400, 3600, 60
	for _, test := range []struct {
		low, mid, high float64
		want           string
	}{
		{5.9 * day, 7.2 * day, 8.1 * day, "5 to 9 days, 7 in the middle"},
		{7 * day, 7 * day, 7 * day, "7 days"},
		{7.2 * day, 7.4 * day, 7.8 * day, "7 to 8 days"},
		{0.5 * day, 3 * day, 4.5 * day, "at most 5 days, 3 in the middle"},
		{0, 0, 0.5 * day, "at most 12 hours"},
		{20.1 * hour, 24 * hour, 29.5 * hour, "20 to 30 hours, 24 in the middle"},
		{0.9 * hour, 1 * hour, 1.2 * hour, "54 to 72 minutes, 60 in the middle"},
		{38.4615 * hour, 38.4615 * hour, 38.4615 * hour, "38 to 39 hours"},
		{100 * day, 300 * day, 9000 * day, "100 days or longer"},
		{400 * day, 500 * day, 600 * day, "more than a year"},
		{1 * hour, 2 * hour, 2 * hour, "1 to 2 hours"},
		{1 * minute, 1 * minute, 1 * minute, "1 minute"},
	} {
		if got := (contents.Duration{Low: test.low, Mid: test.mid, High: test.high}).String(); got != test.want {
			t.Errorf("%+v: %q, want %q", test, got, test.want)
		}
	}
}

func TestLastsSentence(t *testing.T) {
	l := contents.Lasting{Name: "gas", Left: contents.Duration{Low: 7.9 * 86400, Mid: 9.2 * 86400, High: 11.5 * 86400}}
	from := time.Date(2025, 11, 5, 9, 30, 0, 0, time.UTC)
	if got, want := l.Sentence(from), "At this use the gas lasts 7 to 12 days, 9 in the middle; refill by 12 November."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if day, ok := l.RefillBy(from); !ok || day.Format(time.DateOnly) != "2025-11-12" {
		t.Errorf("refill by %v, %v", day, ok)
	}
	if got := l.Sentence(time.Date(2025, 12, 28, 0, 0, 0, 0, time.UTC)); !strings.HasSuffix(got, "refill by 4 January 2026.") {
		t.Errorf("over the new year: %q", got)
	}
	l.Left = contents.Duration{Low: 3e8, Mid: 4e8, High: contents.Longest}
	if got := l.Sentence(from); got != "At this use the gas lasts more than a year." {
		t.Errorf("very long: %q", got)
	}
}

// More use makes it shorter, more in the tank longer, for every figure.
func TestLastsLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kg := rapid.Float64Range(0, 50).Draw(t, "kg")
		u := rapid.Float64Range(0, 2).Draw(t, "u")
		low := rapid.Float64Range(5, 500).Draw(t, "low")
		high := low * rapid.Float64Range(1, 4).Draw(t, "wider")
		more := rapid.Float64Range(1, 3).Draw(t, "more")
		burn := func(kg, low, high float64) contents.Duration {
			s, l := lastsBurn(kg, u, low, high)
			d, err := contents.BurnTime(s, l)
			if err != nil {
				t.Fatal(err)
			}
			return d
		}
		at, used, full := burn(kg, low, high), burn(kg, more*low, more*high), burn(more*kg, low, high)
		const slack = 1 + 1e-9
		if used.Low > at.Low*slack || used.Mid > at.Mid*slack || used.High > at.High*slack {
			t.Fatalf("%g times the use lasts longer: %v, before %v", more, used, at)
		}
		if at.Low > full.Low*slack || at.Mid > full.Mid*slack || at.High > full.High*slack {
			t.Fatalf("%g times the gas lasts shorter: %v, before %v", more, full, at)
		}
		if !(at.Low <= at.Mid*slack && at.Mid <= at.High*slack) {
			t.Fatalf("out of order: %v", at)
		}
	})
}

// The same by Monte Carlo, with several loads; the few tries because each takes
// a hundred thousand trials, the margin because they are random.
func TestLastsLawsOfSeveralLoads(t *testing.T) {
	loads := contents.GasLoads()
	s := loadsPropane()
	s.Left = contents.Known{Value: 8, U: 0.6, Half: 0.3}
	s.Heel = contents.Between{Low: 0.2, High: 0.4}
	before := contents.Duration{Low: math.Inf(1), Mid: math.Inf(1), High: math.Inf(1)}
	for n := 1; n <= 6; n++ {
		got, err := contents.Lasts(s, loads[:n])
		if err != nil {
			t.Fatal(err)
		}
		if got.Left.Low >= before.Low || got.Left.Mid >= before.Mid || got.Left.High >= before.High {
			t.Errorf("%d loads last %v, one fewer %v", n, got.Left.Days(), before.Days())
		}
		before = got.Left
	}
	s.Left.Value = 12
	if got, _ := contents.Lasts(s, loads[:6]); got.Left.Low <= before.Low || got.Left.Mid <= before.Mid || got.Left.High <= before.High {
		t.Errorf("12 kg last %v, 8 kg %v", got.Left.Days(), before.Days())
	}
}

func BenchmarkLasts(b *testing.B) {
	s := loadsPropane()
	s.Left = contents.Known{Value: 8, U: 0.6}
	for b.Loop() {
		if _, err := contents.Lasts(s, contents.GasLoads()[:5]); err != nil {
			b.Fatal(err)
		}
	}
}

// By hand: 8 kg ± (2·0.5 + 0.3) less a heel of 0.2 to 0.4 kg.
func TestSupplyUsable(t *testing.T) {
	s := contents.Supply{Left: contents.Known{Value: 8, U: 0.5, Half: 0.3}, Heel: contents.Between{Low: 0.2, High: 0.4}}
	low, mid, high := s.Usable()
	lastsEstimate(t, "usable", contents.Estimate{Low: low, Mid: mid, High: high}, contents.Estimate{Low: 6.3, Mid: 7.7, High: 9.1}, 1e-12)
	s.Left.Value = 0.1
	low, mid, high = s.Usable()
	lastsEstimate(t, "nearly empty", contents.Estimate{Low: low, Mid: mid, High: high}, contents.Estimate{High: 1.2}, 1e-12)
}
