package tag

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/scale"
	"gaugewright/internal/span"
	"gaugewright/internal/strict"
)

// Prefix begins the text of every code; the digit is the version of the
// encoding.
const Prefix = "GW1:"

// The lengths of texts in a code, in bytes of UTF-8; longer ones are cut and end
// with "…".
const (
	longestNumber  = 24
	longestVehicle = 32
	longestTank    = 24
	longestSender  = 24 // its serial number, its type
)

// The lists that a code gives places in, which are never put in another order.
var (
	contents = []job.Contents{job.LPG, job.Water, job.Diesel, job.Petrol, job.Waste, job.Other}
	readouts = []string{job.TwoPoint, job.Table, job.EndsThenTable}
	scales   = []scale.Kind{scale.Mark, scale.Volume, scale.Fill, scale.Usable}
	marks    = []curve.MarkUnit{curve.Dial, curve.Height, curve.Volume, curve.Mass}
	aims     = []span.Objective{span.Worst, span.NearEmpty, span.NeverHigh, span.RMS} // from 1; 0: not said
	counted  = []string{job.ByMass, job.ByVolume}                                     // from 1; 0: not said
	gives    = []curve.Signal{curve.Ohms, curve.Volts, curve.Milliamps, curve.Ratio}
)

// Code is what is printed for one tank.
type Code struct {
	// Text is the code itself: [Prefix] and signs of the alphanumeric mode of a
	// QR code, capitals alone.
	Text string
	// Notes says in sentences what of the job is cut or isn't in the code, but for
	// what never is; empty where there is nothing to say.
	Notes []string
}

// Encode makes the code of one tank of a job: what was keyed in, exactly, and
// its curve, in up to [MostKnots] knots. With "" the job's only tank is taken.
//
// It is an error where there is no such tank, where there is neither a setting
// nor a curve, and where the code couldn't be read back to a job that keeps the
// rules of jobs.
func Encode(j *job.Job, tank string) (Code, error) {
	t, err := tankOf(j, tank)
	if err != nil {
		return Code{}, err
	}
	p, notes, err := fill(j, t)
	if err != nil {
		return Code{}, fmt.Errorf("tank %s can't be put into a printed code: %w", strict.Quoted(t.Name), err)
	}
	text, err := p.text()
	if err != nil {
		return Code{}, fmt.Errorf("tank %s can't be put into a printed code: %w", strict.Quoted(t.Name), err)
	}
	// What can't be read again must never be printed.
	if _, err := Decode(text); err != nil {
		return Code{}, fmt.Errorf("tank %s can't be put into a printed code, as it couldn't be read from it again: %w", strict.Quoted(t.Name), err)
	}
	return Code{Text: text, Notes: notes}, nil
}

// tankOf gives the tank of a name, or the only one.
func tankOf(j *job.Job, name string) (*job.Tank, error) {
	if name != "" {
		return j.Tank(name)
	}
	switch len(j.Tanks) {
	case 0:
		return nil, errors.New("the job has no tanks yet, so there is nothing for a printed code")
	case 1:
		return &j.Tanks[0], nil
	}
	return nil, fmt.Errorf("the job has %d tanks, and a printed code holds one; name it", len(j.Tanks))
}

// text gives the code of a payload.
func (p *payload) text() (string, error) {
	data, err := encoding.Marshal(p)
	if err != nil {
		return "", err
	}
	data = binary.BigEndian.AppendUint32(data, crc32.ChecksumIEEE(data))
	return Prefix + toBase45(data), nil
}

// fill puts a tank into a payload.
func fill(j *job.Job, t *job.Tank) (*payload, []string, error) {
	var notes []string
	p := &payload{
		Number:    cut("the job's number", j.Number, longestNumber, &notes),
		Vehicle:   cut("the vehicle", j.Vehicle, longestVehicle, &notes),
		Tank:      cut("the tank's name", t.Name, longestTank, &notes),
		Serial:    cut("the sender's serial number", t.Sender.Serial, longestSender, &notes),
		Type:      cut("the sender's type", t.Sender.Type, longestSender, &notes),
		Capacity:  number(t.WaterCapacityL),
		Permitted: number(t.PermittedFillPct),
		Heel:      number(t.HeelL),
		Marks:     place(marks, t.Unit()),
		Gives:     place(gives, t.Signal()),
		Density:   number(t.DensityKgL),
		Celsius:   numbered(t.TemperatureC),
		Date:      days(j.Date),
		Read:      days(t.Bench.Date),
	}
	at := slices.Index(contents, t.Contents)
	if at < 0 {
		return nil, nil, fmt.Errorf("its contents %q aren't known; correct them", t.Contents)
	}
	p.Contents = uint8(at)
	if g := t.Gas; g != nil {
		p.Gas = &gas{number(g.Propane), number(g.Butane), number(g.Isobutane), uint8(1 + slices.Index(counted, g.By)), g.Mix}
	}
	p.ends(t)
	if t.Setting != nil {
		if _, err := t.Setting.Keyed(); err != nil {
			return nil, nil, err
		}
		s, err := settingOf(*t.Setting)
		if err != nil {
			return nil, nil, err
		}
		p.Setting = s
	}
	note, err := p.shape(t)
	if err != nil {
		return nil, nil, err
	}
	notes = append(notes, note...)
	note, err = p.curve(t)
	if err != nil {
		return nil, nil, err
	}
	notes = append(notes, note...)
	if p.Setting == nil && p.Knots == nil {
		return nil, nil, errors.New("nothing is keyed in yet and there is no curve; take the readings, or choose what to key in")
	}
	return p, notes, nil
}

// ends keeps the marks at both ends of the mark scale where they come from the
// bench: its readings aren't in the code.
func (p *payload) ends(t *job.Tank) {
	if s := t.Setting; t.Unit() == curve.Dial || s != nil && s.EmptyMark != nil && s.FullMark != nil {
		return
	}
	own := *t
	own.Setting = nil
	if empty, full, err := own.Ends(); err == nil {
		p.Ends = []number{number(empty), number(full)}
	}
}

// place gives the place of a value in a list; the job's own rules keep it there.
func place[T comparable](list []T, v T) uint8 { return uint8(max(0, slices.Index(list, v))) }

func numbered(v *float64) *number {
	if v == nil {
		return nil
	}
	n := number(*v)
	return &n
}

// days gives a date in days from 1970-01-01, as RFC 8943 counts them; nil for
// none.
func days(date string) *int32 {
	at, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return nil
	}
	n := int32(at.Unix() / (24 * 60 * 60))
	return &n
}

// cut shortens a text to so many bytes, the "…" with them, and notes it.
func cut(what, text string, most int, notes *[]string) string {
	const more = "…"
	if len(text) <= most {
		return text
	}
	end := most - len(more)
	for !utf8.RuneStart(text[end]) {
		end--
	}
	short := strings.TrimRight(text[:end], " ") + more
	*notes = append(*notes, fmt.Sprintf("In the code %s is cut to %q.", what, short))
	return short
}
