package job

import (
	"bytes"
	"encoding/json"
	"fmt"

	"gaugewright/internal/curve"
	"gaugewright/internal/kin"
)

// Numbers says in which fields of the file the numbers of a setting, or of the
// claims of a sender, stand. In the types they are in the fields named Ohm
// either way.
type Numbers int

const (
	// OfOhms is lower_ohm and its like; the zero value.
	OfOhms Numbers = iota
	// OfSignal is lower_value and its like: in the unit of the bench's readings,
	// which isn't ohms.
	OfSignal
	mixedNumbers // both in one file, which is refused
)

// NumbersOf gives the fields for a sender that gives a signal.
func NumbersOf(signal curve.Signal) Numbers {
	if signal == curve.Ohms {
		return OfOhms
	}
	return OfSignal
}

// numbersIn says which fields were there.
func numbersIn(ohms, values bool) Numbers {
	switch {
	case ohms && values:
		return mixedNumbers
	case values:
		return OfSignal
	}
	return OfOhms
}

// Signal says what the tank's sender gives, as KnownSignal does. Where nothing
// says it, it counts as ohms.
func (t Tank) Signal() curve.Signal {
	signal, _ := t.KnownSignal()
	return signal
}

// KnownSignal says what the tank's sender gives: what the first bench reading
// has, or what the bench says of it, or the first struck reading, or what is known
// of the sender without readings, or the first reading of a service, the first of
// these that there is. It is false where nothing says it.
func (t Tank) KnownSignal() (curve.Signal, bool) {
	if len(t.Bench.Readings) > 0 {
		return t.Bench.Readings[0].Signal, true
	}
	for _, s := range curve.Signals {
		if s.Column() == t.Bench.Gives {
			return s, true
		}
	}
	if len(t.Bench.Struck) > 0 {
		return t.Bench.Struck[0].Signal, true
	}
	if _, signal, ok := knownIn(t.Sender.Known); ok {
		return signal, true
	}
	for _, s := range t.Services {
		if len(s.Readings) > 0 {
			return s.Readings[0].Signal, true
		}
	}
	return curve.Ohms, false
}

// amount prints a number for a message as it stands in the file.
func amount(signal curve.Signal, v float64) string {
	if signal == curve.Ohms {
		return fmt.Sprintf("%g ohm", v)
	}
	return fmt.Sprintf("%g %s", v, signal.Unit())
}

// amount is the same for a setting, which doesn't know the bench.
func (s Setting) amount(v float64) string {
	if s.Numbers == OfOhms {
		return amount(curve.Ohms, v)
	}
	return fmt.Sprintf("%g", v)
}

func (s Setting) figures() string {
	if s.Numbers == OfOhms {
		return curve.Ohms.Figures()
	}
	return "values"
}

// The forms of the types in the file.

type readingFields struct {
	MarkPct     *float64 `json:"mark_pct,omitempty"`
	MarkMM      *float64 `json:"mark_mm,omitempty"`
	MarkL       *float64 `json:"mark_l,omitempty"`
	MarkKg      *float64 `json:"mark_kg,omitempty"`
	Ohm         *float64 `json:"ohm,omitempty"`
	Volt        *float64 `json:"volt,omitempty"`
	Milliamp    *float64 `json:"milliamp,omitempty"`
	OfSupplyPct *float64 `json:"of_supply_pct,omitempty"`
	Sweep       string   `json:"sweep,omitempty"`
	Time        string   `json:"time,omitempty"`
	Note        string   `json:"note,omitempty"`
}

type claimFields struct {
	EmptyOhm   *float64 `json:"empty_ohm,omitempty"`
	FullOhm    *float64 `json:"full_ohm,omitempty"`
	EmptyValue *float64 `json:"empty_value,omitempty"`
	FullValue  *float64 `json:"full_value,omitempty"`
}

type senderFields struct {
	Description string        `json:"description,omitempty"`
	Claimed     []claimFields `json:"claimed,omitempty"`
	Type        string        `json:"type,omitempty"`
	Batch       string        `json:"batch,omitempty"`
	Serial      string        `json:"serial,omitempty"`
	Known       *kin.Known    `json:"known,omitempty"`
}

type entryFields struct {
	Ohm   *float64 `json:"ohm,omitempty"`
	Value *float64 `json:"value,omitempty"`
	Pct   float64  `json:"pct"`
}

type settingFields struct {
	Readout      string        `json:"readout"`
	Scale        string        `json:"scale"`
	StepOhm      float64       `json:"step_ohm,omitempty"`
	StepValue    *float64      `json:"step_value,omitempty"`
	MarginOhm    float64       `json:"margin_ohm,omitempty"`
	MarginValue  *float64      `json:"margin_value,omitempty"`
	EmptyMark    *float64      `json:"empty_mark,omitempty"`
	FullMark     *float64      `json:"full_mark,omitempty"`
	LowerOhm     *float64      `json:"lower_ohm,omitempty"`
	UpperOhm     *float64      `json:"upper_ohm,omitempty"`
	LowerValue   *float64      `json:"lower_value,omitempty"`
	UpperValue   *float64      `json:"upper_value,omitempty"`
	Table        []entryFields `json:"table,omitempty"`
	ThenTable    []Correction  `json:"then_table,omitempty"`
	Objective    string        `json:"objective,omitempty"`
	Points       int           `json:"points,omitempty"`
	StepPct      float64       `json:"step_pct,omitempty"`
	LowestOhm    float64       `json:"lowest_ohm,omitempty"`
	HighestOhm   float64       `json:"highest_ohm,omitempty"`
	LowestValue  *float64      `json:"lowest_value,omitempty"`
	HighestValue *float64      `json:"highest_value,omitempty"`
	By           string        `json:"by,omitempty"`
	Date         string        `json:"date,omitempty"`
}

// plainJSON is json.Marshal without the escapes that only HTML needs, which
// would stay in what a Marshaler gives.
func plainJSON(value any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(value)
	return bytes.TrimRight(b.Bytes(), "\n"), err
}

// values gives the places of what a reading may hold in the order of
// [curve.Signals].
func (f *readingFields) values() []**float64 {
	return []**float64{&f.Ohm, &f.Volt, &f.Milliamp, &f.OfSupplyPct}
}

// MarshalJSON writes the number under the name of what the sender gives.
func (r Reading) MarshalJSON() ([]byte, error) { return plainJSON(r.fields()) }

// fields gives the form of a reading in the file.
func (r Reading) fields() readingFields {
	f := readingFields{MarkPct: r.MarkPct, MarkMM: r.MarkMM, MarkL: r.MarkL, MarkKg: r.MarkKg, Sweep: r.Sweep, Time: r.Time, Note: r.Note}
	*f.values()[r.Signal] = &r.Ohm
	return f
}

// UnmarshalJSON reads what MarshalJSON writes.
func (r *Reading) UnmarshalJSON(text []byte) error {
	var f readingFields
	if err := json.Unmarshal(text, &f); err != nil {
		return err
	}
	*r = Reading{MarkPct: f.MarkPct, MarkMM: f.MarkMM, MarkL: f.MarkL, MarkKg: f.MarkKg, Sweep: f.Sweep, Time: f.Time, Note: f.Note}
	for i, v := range f.values() {
		if *v != nil {
			r.Signal, r.Ohm = curve.Signals[i], **v
		}
	}
	return nil
}

// MarshalJSON writes the claims in the fields that Numbers says.
func (s Sender) MarshalJSON() ([]byte, error) {
	f := senderFields{Description: s.Description, Type: s.Type, Batch: s.Batch, Serial: s.Serial, Known: s.Known}
	for _, c := range s.Claimed {
		if s.Numbers == OfOhms {
			f.Claimed = append(f.Claimed, claimFields{EmptyOhm: &c.EmptyOhm, FullOhm: &c.FullOhm})
		} else {
			f.Claimed = append(f.Claimed, claimFields{EmptyValue: &c.EmptyOhm, FullValue: &c.FullOhm})
		}
	}
	return plainJSON(f)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (s *Sender) UnmarshalJSON(text []byte) error {
	var f senderFields
	if err := json.Unmarshal(text, &f); err != nil {
		return err
	}
	*s = Sender{Description: f.Description, Type: f.Type, Batch: f.Batch, Serial: f.Serial, Known: f.Known}
	if f.Claimed != nil {
		s.Claimed = make([]Claim, len(f.Claimed))
	}
	var ohms, values bool
	for i, c := range f.Claimed {
		ohms = ohms || c.EmptyOhm != nil || c.FullOhm != nil
		values = values || c.EmptyValue != nil || c.FullValue != nil
		s.Claimed[i] = Claim{either(c.EmptyOhm, c.EmptyValue), either(c.FullOhm, c.FullValue)}
	}
	s.Numbers = numbersIn(ohms, values)
	return nil
}

// MarshalJSON writes the numbers in the fields that Numbers says.
func (s Setting) MarshalJSON() ([]byte, error) {
	f := settingFields{Readout: s.Readout, Scale: s.Scale, EmptyMark: s.EmptyMark, FullMark: s.FullMark, By: s.By, Date: s.Date,
		ThenTable: s.ThenTable, Objective: s.Objective, Points: s.Points, StepPct: s.StepPct}
	if s.Numbers == OfOhms {
		f.StepOhm, f.MarginOhm, f.LowerOhm, f.UpperOhm = s.StepOhm, s.MarginOhm, s.LowerOhm, s.UpperOhm
		f.LowestOhm, f.HighestOhm = s.LowestOhm, s.HighestOhm
	} else {
		f.StepValue, f.MarginValue, f.LowerValue, f.UpperValue = unlessZero(s.StepOhm), unlessZero(s.MarginOhm), s.LowerOhm, s.UpperOhm
		f.LowestValue, f.HighestValue = unlessZero(s.LowestOhm), unlessZero(s.HighestOhm)
	}
	for _, e := range s.Table {
		if s.Numbers == OfOhms {
			f.Table = append(f.Table, entryFields{Ohm: &e.Ohm, Pct: e.Pct})
		} else {
			f.Table = append(f.Table, entryFields{Value: &e.Ohm, Pct: e.Pct})
		}
	}
	return plainJSON(f)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (s *Setting) UnmarshalJSON(text []byte) error {
	var f settingFields
	if err := json.Unmarshal(text, &f); err != nil {
		return err
	}
	*s = Setting{Readout: f.Readout, Scale: f.Scale, EmptyMark: f.EmptyMark, FullMark: f.FullMark, By: f.By, Date: f.Date,
		StepOhm: f.StepOhm, MarginOhm: f.MarginOhm, LowerOhm: f.LowerOhm, UpperOhm: f.UpperOhm,
		ThenTable: f.ThenTable, Objective: f.Objective, Points: f.Points, StepPct: f.StepPct, LowestOhm: f.LowestOhm, HighestOhm: f.HighestOhm}
	ohms := f.StepOhm != 0 || f.MarginOhm != 0 || f.LowerOhm != nil || f.UpperOhm != nil || f.LowestOhm != 0 || f.HighestOhm != 0
	values := f.StepValue != nil || f.MarginValue != nil || f.LowerValue != nil || f.UpperValue != nil || f.LowestValue != nil || f.HighestValue != nil
	if f.LowestValue != nil {
		s.LowestOhm = *f.LowestValue
	}
	if f.HighestValue != nil {
		s.HighestOhm = *f.HighestValue
	}
	if f.StepValue != nil {
		s.StepOhm = *f.StepValue
	}
	if f.MarginValue != nil {
		s.MarginOhm = *f.MarginValue
	}
	if f.LowerValue != nil {
		s.LowerOhm = f.LowerValue
	}
	if f.UpperValue != nil {
		s.UpperOhm = f.UpperValue
	}
	for _, e := range f.Table {
		ohms, values = ohms || e.Ohm != nil, values || e.Value != nil
		s.Table = append(s.Table, Entry{either(e.Ohm, e.Value), e.Pct})
	}
	s.Numbers = numbersIn(ohms, values)
	return nil
}

// either gives the one that is there.
func either(a, b *float64) float64 {
	switch {
	case a != nil:
		return *a
	case b != nil:
		return *b
	}
	return 0
}

func unlessZero(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}
