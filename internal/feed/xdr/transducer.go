package xdr

import (
	"fmt"
	"strings"

	"gaugewright/internal/quantity"
)

// Transducer is one group of four fields in an XDR sentence.
type Transducer struct {
	Type string // a letter: E fluid level, V volume, G generic, A angle, U voltage …
	// Value is as it was sent; "": the transducer has none.
	Value string
	Unit  string // a letter: P per cent, M cubic metres, D degrees, V volts …
	Name  string
}

// Transducers reads the groups of an XDR sentence.
func Transducers(s Sentence) ([]Transducer, error) {
	if len(s.Fields) == 0 || len(s.Fields)%4 != 0 {
		return nil, ErrGroups
	}
	list := make([]Transducer, 0, len(s.Fields)/4)
	for f := s.Fields; len(f) > 0; f = f[4:] {
		list = append(list, Transducer{strings.ToUpper(strings.TrimSpace(f[0])), strings.TrimSpace(f[1]),
			strings.ToUpper(strings.TrimSpace(f[2])), strings.TrimSpace(f[3])})
	}
	return list, nil
}

// Number is the value as a number. The error of one that is none, or is empty,
// says so.
func (x Transducer) Number() (float64, error) {
	v, err := quantity.ParseNumber(x.Value, false)
	if err != nil {
		return 0, fmt.Errorf("value of %s: %w", x.Name, err)
	}
	return v, nil
}

// Encode makes one sentence of several transducers.
func Encode(talker string, list ...Transducer) ([]byte, error) {
	if len(talker) != 2 {
		return nil, fmt.Errorf("talker %q; expected two letters", talker)
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("an XDR sentence without a transducer; expected one at least")
	}
	s := Sentence{Talker: talker, Type: "XDR"}
	for _, x := range list {
		s.Fields = append(s.Fields, x.Type, x.Value, x.Unit, x.Name)
	}
	for _, f := range s.Fields {
		if strings.Contains(f, ",") {
			return nil, fmt.Errorf("comma in the field %q of a transducer; expected none", f)
		}
	}
	return s.Append(nil)
}
