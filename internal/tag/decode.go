package tag

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"strings"
	"time"

	"gaugewright/internal/job"
	"gaugewright/internal/wording"
)

// longestText is the longest text that is looked at; codes are shorter by far.
const longestText = 16 << 10

// Decode restores the job in a code: one tank with its setting, and its curve
// as knots without readings. Small letters count as capitals, and line breaks
// and white space around lines don't count. The job keeps all the rules of jobs,
// or the code is refused: for LPG no scale comes back that shows 100 % above
// [job.MaxLPGFillPct].
//
// The error says whether the text is no code, of a version to come, cut short or
// damaged.
func Decode(text string) (*job.Job, error) {
	p, err := read(text)
	if err != nil {
		return nil, err
	}
	j, err := p.restore()
	if err != nil {
		return nil, fmt.Errorf("the printed code is whole, but what it holds can't be: %w", err)
	}
	if _, err := j.Encode(); err != nil {
		return nil, fmt.Errorf("the printed code is whole, but what it holds is refused: %w", err)
	}
	return j, nil
}

// read gives the payload of a code's text.
func read(text string) (*payload, error) {
	if len(text) > longestText {
		return nil, fmt.Errorf("the text has %d bytes, and no printed code has more than %d; give the code alone", len(text), longestText)
	}
	var data []byte
	var first error
	for _, joined := range spellings(text) {
		d, err := unwrap(joined)
		if err == nil {
			data, first = d, nil
			break
		}
		if first == nil {
			first = err
		}
	}
	if first != nil {
		return nil, first
	}
	var p payload
	if err := decoding.Unmarshal(data, &p); err != nil {
		return nil, fmt.Errorf("the printed code is whole, but holds something else than version 1 has (%v); read it with the program that made it", err)
	}
	if again, err := encoding.Marshal(&p); err != nil || !bytes.Equal(again, data) {
		return nil, errors.New("the printed code is whole, but isn't written in the one way that version 1 allows (RFC 8949, 4.2.1); make it anew with the program that made it")
	}
	return &p, nil
}

// spellings gives the ways in which lines may have to be put together: a space
// at a line's end is a sign of the code like any other, and whoever broke the
// line may have kept it or not.
func spellings(text string) []string {
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u00a0", " ", "\u2028", "\n", "\ufeff", "").Replace(text)
	text = strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' {
			return r - 'a' + 'A'
		}
		return r
	}, text)
	text = strings.Trim(text, " \t\n\v\f")
	lines := strings.Split(text, "\n")
	trimmed := make([]string, 0, len(lines))
	for _, line := range lines {
		if line = strings.Trim(line, " \t\v\f"); line != "" {
			trimmed = append(trimmed, line)
		}
	}
	if len(lines) == 1 {
		return []string{text}
	}
	return []string{strings.Join(lines, ""), strings.Join(trimmed, ""), strings.Join(trimmed, " ")}
}

// unwrap takes off the prefix, Base45 and the checksum.
func unwrap(text string) ([]byte, error) {
	head, body, found := strings.Cut(text, ":")
	version, ours := strings.CutPrefix(head, "GW")
	switch {
	case text == "":
		return nil, fmt.Errorf("there is no text; expected a printed code, which begins with %s and is copied whole", Prefix)
	case !found || !ours || version == "" || strings.Trim(version, "0123456789") != "":
		return nil, fmt.Errorf("%q is not a printed code of this program; it begins with %s", wording.Clip(text, 24), Prefix)
	case version != "1":
		return nil, fmt.Errorf("the printed code is of version %s, and this program reads version 1; use a newer program", wording.Clip(version, 12))
	}
	data, at, ok := fromBase45(body)
	switch {
	case !ok && at < len(body) && strings.IndexByte(alphabet, body[at]) < 0:
		return nil, fmt.Errorf("the printed code has %q as its sign %d, which no code has; copy it again", firstRune(body[at:]), at+1+len(Prefix))
	case !ok && len(body)-at < 3:
		return nil, fmt.Errorf("the printed code ends in the middle, after %d signs; copy all of it", len(text))
	case !ok:
		return nil, fmt.Errorf("the printed code is damaged at sign %d; scan or copy it again", at+1+len(Prefix))
	case len(data) < 5:
		return nil, fmt.Errorf("the printed code ends after %d signs; copy all of it", len(text))
	}
	data, sum := data[:len(data)-4], binary.BigEndian.Uint32(data[len(data)-4:])
	if found := crc32.ChecksumIEEE(data); found != sum {
		return nil, fmt.Errorf("the printed code of %d signs is damaged or cut short: its checksum is %08x, and what is there comes to %08x; scan or copy all of it again", len(text), sum, found)
	}
	return data, nil
}

func firstRune(text string) string {
	for i := range text {
		if i > 0 {
			return text[:i]
		}
	}
	return text
}

// restore makes the job of a payload.
func (p *payload) restore() (*job.Job, error) {
	if int(p.Contents) >= len(contents) || int(p.Marks) >= len(marks) || int(p.Gives) >= len(gives) {
		return nil, errors.New("contents, marks or what the sender gives are of a kind that version 1 doesn't have")
	}
	for _, s := range []struct {
		text string
		most int
	}{{p.Number, longestNumber}, {p.Vehicle, longestVehicle}, {p.Tank, longestTank}, {p.Serial, longestSender}, {p.Type, longestSender}} {
		if len(s.text) > s.most {
			return nil, fmt.Errorf("the text %q has %d bytes, and may have %d", wording.Clip(s.text, 24), len(s.text), s.most)
		}
	}
	t := job.Tank{
		Name: p.Tank, Contents: contents[p.Contents],
		WaterCapacityL: float64(p.Capacity), PermittedFillPct: float64(p.Permitted), HeelL: float64(p.Heel),
		Sender:     job.Sender{Serial: p.Serial, Type: p.Type},
		DensityKgL: float64(p.Density), TemperatureC: floated(p.Celsius),
		Bench: job.Bench{Marks: marks[p.Marks].Column(), Gives: gives[p.Gives].Column(), Readings: []job.Reading{}},
	}
	var err error
	if t.Bench.Date, err = date(p.Read); err != nil {
		return nil, err
	}
	if g := p.Gas; g != nil {
		t.Gas = &job.Gas{Propane: float64(g.Propane), Butane: float64(g.Butane), Isobutane: float64(g.Isobutane), Mix: g.Mix}
		switch {
		case int(g.By) > len(counted):
			return nil, errors.New("the parts of the gas are counted in a way that version 1 doesn't have")
		case g.By > 0:
			t.Gas.By = counted[g.By-1]
		}
	}
	switch {
	case len(p.Ends) == 2 && p.Marks != 0:
		t.Bench.EmptyMark, t.Bench.FullMark = floated(&p.Ends[0]), floated(&p.Ends[1])
	case len(p.Ends) != 0:
		return nil, errors.New("the ends of the mark scale aren't two marks of a bench")
	}
	if p.Setting != nil {
		if t.Setting, err = p.Setting.restore(gives[p.Gives]); err != nil {
			return nil, err
		}
	}
	if t.Shape, err = p.restoreShape(); err != nil {
		return nil, err
	}
	if t.Sender.Known, err = p.known(); err != nil {
		return nil, err
	}
	if t.Setting == nil && t.Sender.Known == nil {
		return nil, errors.New("there is neither a setting nor a curve in it")
	}
	j := &job.Job{Version: job.Version, Number: p.Number, Vehicle: p.Vehicle, Tanks: []job.Tank{t}}
	j.Date, err = date(p.Date)
	return j, err
}

func floated(n *number) *float64 {
	if n == nil {
		return nil
	}
	v := float64(*n)
	return &v
}

// The days of the years 0 and 9999, beyond which no date is written.
const firstDay, lastDay = -719528, 2932896

// date writes what days gives.
func date(n *int32) (string, error) {
	switch {
	case n == nil:
		return "", nil
	case *n < firstDay || *n > lastDay:
		return "", fmt.Errorf("a date lies %d days from 1970-01-01, beyond the years 0 to 9999", *n)
	}
	return time.Unix(int64(*n)*24*60*60, 0).UTC().Format(time.DateOnly), nil
}
