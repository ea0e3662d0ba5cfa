package web

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
	"gaugewright/internal/telling"
	"gaugewright/internal/wording"
)

// leftLook is what is in a tank now and how long it lasts.
type leftLook struct {
	Bys      []option // what was read, to choose from
	Now, At  string   // what was typed: the reading, and the temperature
	Bad, Why string   // what is wrong with it; why nothing can be told
	Told     *telling.Lasting
	BadSaid  []record.Sentence
	Others   []record.Sentence
	UsesHead string
}

// What a level may be told from.
const (
	byDisplay = "level"
	byOhm     = "ohm"
	byLitres  = "litres"
	byMass    = "kg"
)

// leftKnown is what was told, by all that it was told from: how long a tank lasts
// is drawn at random some thousand times, always with the same result.
var leftKnown recall[leftLook]

// leftIn is leftOf, remembered for as long as the job doesn't change.
func (s *Site) leftIn(kept *job.Kept, at *tankAt, by, now, temperature string) leftLook {
	key := fmt.Sprintf("%s %s %d %d %s %q %q %q", s.run, kept.ID, kept.Revision, at.N, s.o.Now().Format(time.DateOnly), by, now, temperature)
	look, ok := leftKnown.get(key)
	if !ok {
		look = s.leftOf(*at.Tank, kept.Job.Shown(), by, now, temperature)
		leftKnown.put(key, look)
	}
	return look
}

// leftOf works out what is in a tank when something was read, and with nothing
// read what is in it when it is as full as it may be. It is what the verb lasts
// tells, by the same calls.
func (s *Site) leftOf(t job.Tank, u quantity.Units, by, now, at string) leftLook {
	_, mass := u.MassIn(0)
	out := leftLook{Now: now, At: at, UsesHead: telling.UsesHead, Bys: chosen([]option{
		{Value: byDisplay, Name: "the display shows, %"},
		{Value: byOhm, Name: "the sender gives, " + t.Signal().Unit()},
		{Value: byLitres, Name: "it holds, " + unitOfVolume(u)},
		{Value: byMass, Name: "it weighs, " + mass},
	}, by)}
	f := newTyped(map[string][]string{"temperature": {at}}, nil)
	if c := f.celsius("temperature", u, nil); c != nil {
		if *c < -40 || *c > 60 {
			f.blame("temperature", "found %s; expected -40 °C to 60 °C", quantity.Celsius(*c))
		}
		t.TemperatureC = c
	}
	if f.wrong() {
		out.Bad = f.faults["temperature"]
		return out
	}
	level, err := levelOf(t, u, by, strings.TrimSpace(now))
	if err != nil {
		text := telling.Sentence(tapeWords.Replace(strings.TrimPrefix(err.Error(), fmt.Sprintf("tank %q: ", t.Name))))
		if strings.TrimSpace(now) == "" {
			out.Why = text
		} else {
			out.Bad = text
		}
		return out
	}
	y, m, d := s.o.Now().Date()
	o, err := t.Outlook(level, time.Date(y, m, d, 0, 0, 0, 0, time.UTC))
	if err != nil {
		out.Why = telling.Sentence(tapeWords.Replace(strings.TrimPrefix(err.Error(), fmt.Sprintf("tank %q: ", t.Name))))
		return out
	}
	told := telling.Outlook(t, o, u)
	out.Told, out.BadSaid, out.Others = &told, sentences(told.Bad), sentences(told.Others)
	return out
}

// levelOf tells how full a tank is from what was read.
func levelOf(t job.Tank, u quantity.Units, by, text string) (job.Level, error) {
	plain := func(unit string) string {
		if _, err := quantity.ParseNumber(text, true); err == nil {
			return text + unit
		}
		return text
	}
	if text == "" {
		if t.Contents == job.Waste {
			return job.Level{}, nil // as empty as it is after emptying
		}
		full, err := t.Full()
		return job.Level{Share: full}, err
	}
	switch by {
	case byOhm:
		signal := t.Signal()
		if signal == curve.Ohms {
			ohm, err := quantity.ParseOhm(plain("ohm"))
			if err != nil {
				return job.Level{}, err
			}
			return t.AtOhm(ohm)
		}
		value, err := quantity.ParseNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(text, signal.Symbol()), signal.Column())), true)
		if err != nil || !(value >= 0 && quantity.Ohm(value) <= signal.Limit()) {
			return job.Level{}, fmt.Errorf("found %q; expected %s, 0 to %g", wording.Clip(text, 40), signal.Figures(), float64(signal.Limit()))
		}
		return t.AtOhm(quantity.Ohm(value))
	case byLitres:
		volume, err := quantity.ParseCubicMetre(plain(unitOfVolume(u)))
		if err != nil {
			return job.Level{}, err
		}
		return t.AtVolume(volume)
	case byMass:
		_, unit := u.MassIn(0)
		mass, err := quantity.ParseKilogram(plain(unit))
		if err != nil {
			return job.Level{}, err
		}
		return t.AtMass(mass)
	case byDisplay, "":
		share, err := quantity.ParseShare(plain("%"))
		if err != nil {
			return job.Level{}, err
		}
		return t.AtLevel(share)
	}
	return job.Level{}, errors.New("say what was read: the display, the sender, litres or kilograms")
}
