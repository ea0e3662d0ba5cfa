package vehicle

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"gaugewright/internal/quantity"
	"gaugewright/internal/wording"
)

// ParseFault reads a fault as a person writes it: the tank, what it is, how much
// where that is asked for, and from when to when after the start.
//
//	fresh break 2m..5m
//	fresh break null 2m..5m
//	lpg resist 12ohm 1h..
//	fresh clock-step -90s 2m..5m
//
// Without times it lasts from the start on. The error says what was found and
// what was expected.
func ParseFault(text string) (Fault, error) {
	words := strings.Fields(text)
	if len(words) < 2 {
		return Fault{}, fmt.Errorf(`the fault %q is too short; expected a tank, a kind and times, like "fresh break 2m..5m"`, wording.Clip(text, 60))
	}
	f := Fault{Tank: words[0]}
	if !nameOf.MatchString(f.Tank) {
		return Fault{}, fmt.Errorf("%q is no tank's name; expected letters, digits, - and _", wording.Clip(f.Tank, 60))
	}
	var err error
	if f.Kind, err = ParseKind(words[1]); err != nil {
		return Fault{}, err
	}
	rest := words[2:]
	if n := len(rest); n > 0 && strings.Contains(rest[n-1], "..") {
		if f.From, f.To, err = parseSpell(rest[n-1]); err != nil {
			return Fault{}, err
		}
		rest = rest[:n-1]
	}
	if f.By, err = f.Kind.Amount(strings.Join(rest, " ")); err != nil {
		return Fault{}, err
	}
	return f, f.check()
}

// ParseKind reads the word for a kind of fault.
func ParseKind(word string) (Kind, error) {
	for k := Broken; k < kinds; k++ {
		if word == kindWords[k] {
			return k, nil
		}
	}
	return Sound, fmt.Errorf("there is no fault %q; expected one of %s", wording.Clip(word, 40), strings.Join(kindWords[1:], ", "))
}

// Amount reads how much of a fault there is to be: ohms, a time, or nothing. An
// empty text is the usual amount.
func (k Kind) Amount(text string) (float64, error) {
	switch {
	case k.amount() == "" && text != "":
		return 0, fmt.Errorf("%s has %q after it; expected nothing but times, like 2m..5m", k, wording.Clip(text, 40))
	case text == "":
		return map[Kind]float64{Added: 10, Disagree: 20, Late: 30, Stepped: 3600}[k], nil
	case k == Broken && text == "null":
		return math.NaN(), nil
	case k.amount() == "time":
		d, err := time.ParseDuration(text)
		if err != nil {
			return 0, fmt.Errorf("%s by %q; expected a time like 30s", k, wording.Clip(text, 40))
		}
		return d.Seconds(), nil
	case k.amount() == "ohm":
		r, err := parseOhm(text)
		if err != nil {
			return 0, fmt.Errorf("%s by %q; expected ohms like 12ohm", k, wording.Clip(text, 40))
		}
		return r, nil
	}
	return 0, nil
}

func parseOhm(text string) (float64, error) {
	if r, err := strconv.ParseFloat(text, 64); err == nil {
		return r, nil
	}
	sign, rest := 1.0, text
	if strings.HasPrefix(text, "-") {
		sign, rest = -1, text[1:]
	}
	r, err := quantity.ParseOhm(rest)
	return sign * float64(r), err
}

// parseSpell reads "2m..5m"; either side may be left out.
func parseSpell(text string) (from, to time.Duration, err error) {
	begin, end, _ := strings.Cut(text, "..")
	for _, side := range []struct {
		text string
		into *time.Duration
	}{{begin, &from}, {end, &to}} {
		if side.text == "" {
			continue
		}
		if *side.into, err = time.ParseDuration(side.text); err != nil || *side.into < 0 {
			return 0, 0, fmt.Errorf("the times %q; expected from when to when after the start, like 2m..5m, or 2m.. without an end", wording.Clip(text, 40))
		}
	}
	if to != 0 && to <= from {
		return 0, 0, fmt.Errorf("the times %q end before they begin; expected like 2m..5m", wording.Clip(text, 40))
	}
	return from, to, nil
}
