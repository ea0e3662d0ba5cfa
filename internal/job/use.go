package job

import (
	"encoding/json"
	"fmt"
)

// Gas says what an LPG tank was filled with: the parts of the mixture, or the
// name of a mixture that fuel standards know.
type Gas struct {
	Propane   float64 `json:"propane,omitempty"`   // parts, 0..1; all of them make 1
	Butane    float64 `json:"butane,omitempty"`    // n-butane
	Isobutane float64 `json:"isobutane,omitempty"` //
	By        string  `json:"by,omitempty"`        // ByMass or ByVolume; "": by mass
	Mix       string  `json:"mix,omitempty"`       // a preset, in the place of parts
}

// How the parts of a gas are counted.
const (
	ByMass   = "mass"
	ByVolume = "volume" // of liquid at 15 °C
)

// Load is something that draws from a tank. Exactly one of Preset and the rates
// is there.
type Load struct {
	Name    string `json:"name,omitempty"`
	Preset  string `json:"preset,omitempty"` // a kind of appliance with its usual range
	KW      *Range `json:"kw,omitempty"`     // heat that it is rated for
	Plate   string `json:"plate,omitempty"`  // Net or Gross, what the rating counts; "": not known
	GPerH   *Range `json:"g_per_h,omitempty"`
	LPerMin *Range `json:"l_per_min,omitempty"`
	LPerH   *Range `json:"l_per_h,omitempty"`
	LPerDay *Range `json:"l_per_day,omitempty"`
	// HoursPerDay is how long it runs in a day; none with LPerDay.
	HoursPerDay *Range `json:"hours_per_day,omitempty"`
}

// What a rating in kW counts: the heat with the water of combustion as vapour
// (net, inferior) or as liquid (gross, superior).
const (
	Net   = "net"
	Gross = "gross"
)

// Range is what a quantity is known to lie between, both ends with it. In the
// file it is a pair, or one number where both are the same.
type Range struct{ Low, High float64 }

// Exactly gives the range of one value.
func Exactly(v float64) *Range { return &Range{v, v} }

// Between gives the range from low to high.
func Between(low, high float64) *Range { return &Range{low, high} }

// MarshalJSON writes one number, or a pair.
func (r Range) MarshalJSON() ([]byte, error) {
	if r.Low == r.High {
		return json.Marshal(r.Low)
	}
	return json.Marshal([2]float64{r.Low, r.High})
}

// UnmarshalJSON reads one number, or a pair.
func (r *Range) UnmarshalJSON(text []byte) error {
	var one float64
	if err := json.Unmarshal(text, &one); err == nil {
		r.Low, r.High = one, one
		return nil
	}
	var pair []float64
	if err := json.Unmarshal(text, &pair); err != nil || len(pair) != 2 {
		return fmt.Errorf("a range is a number, or a list of the lowest and the highest")
	}
	r.Low, r.High = pair[0], pair[1]
	return nil
}
