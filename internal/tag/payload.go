package tag

import (
	"reflect"

	"github.com/fxamacker/cbor/v2"
)

// payload is the code's map (docs/printed-code.md has it for others). Fields
// that are left out aren't known, but for Marks and Gives, where 0 is left out.
type payload struct {
	Number    string         `cbor:"1,keyasint,omitempty"`
	Vehicle   string         `cbor:"2,keyasint,omitempty"`
	Date      *int32         `cbor:"3,keyasint,omitempty"` // of the job, in days from 1970-01-01
	Tank      string         `cbor:"4,keyasint,omitempty"`
	Contents  uint8          `cbor:"5,keyasint"` // a place in contents
	Capacity  number         `cbor:"6,keyasint,omitzero"`
	Permitted number         `cbor:"7,keyasint,omitzero"`
	Heel      number         `cbor:"8,keyasint,omitzero"`
	Marks     uint8          `cbor:"9,keyasint,omitempty"`  // a place in curve.MarkUnits
	Gives     uint8          `cbor:"10,keyasint,omitempty"` // a place in curve.Signals
	Setting   *setting       `cbor:"11,keyasint,omitempty"`
	Knots     []column       `cbor:"12,keyasint,omitempty"` // marks, values, their uncertainties
	Noise     *noise         `cbor:"13,keyasint,omitempty"`
	DF        number         `cbor:"14,keyasint,omitzero"`
	Ends      []number       `cbor:"15,keyasint,omitempty"` // of the mark scale
	Gas       *gas           `cbor:"16,keyasint,omitempty"`
	Density   number         `cbor:"17,keyasint,omitzero"`
	Celsius   *number        `cbor:"18,keyasint,omitempty"`
	Shape     map[string]any `cbor:"19,keyasint,omitempty"` // as in a tank file
	Read      *int32         `cbor:"20,keyasint,omitempty"` // when the bench readings were made
	Serial    string         `cbor:"21,keyasint,omitempty"` // of the sender
	Type      string         `cbor:"22,keyasint,omitempty"` // of the sender, as the workshop calls it
}

type setting struct {
	Readout uint8    `cbor:"1,keyasint,omitempty"` // a place in readouts
	Scale   uint8    `cbor:"2,keyasint,omitempty"` // a place in scale.Kinds
	Ends    []number `cbor:"3,keyasint,omitempty"` // lower and upper end value
	Table   []column `cbor:"4,keyasint,omitempty"` // values, percent
	Empty   *number  `cbor:"5,keyasint,omitempty"`
	Full    *number  `cbor:"6,keyasint,omitempty"`
	Step    number   `cbor:"7,keyasint,omitzero"`
	Margin  number   `cbor:"8,keyasint,omitzero"`
	Date    *int32   `cbor:"9,keyasint,omitempty"`
	Then    []column `cbor:"10,keyasint,omitempty"` // percent that come in, percent shown
	// What it was chosen for.
	Objective uint8  `cbor:"11,keyasint,omitempty"` // a place in objectives, from 1
	Points    uint32 `cbor:"12,keyasint,omitempty"`
	StepPct   number `cbor:"13,keyasint,omitzero"`
	Lowest    number `cbor:"14,keyasint,omitzero"`
	Highest   number `cbor:"15,keyasint,omitzero"`
}

type gas struct {
	Propane   number `cbor:"1,keyasint,omitzero"`
	Butane    number `cbor:"2,keyasint,omitzero"`
	Isobutane number `cbor:"3,keyasint,omitzero"`
	By        uint8  `cbor:"4,keyasint,omitempty"` // a place in counted, from 1
	Mix       string `cbor:"5,keyasint,omitempty"`
}

// noise is the standard deviation of one reading and its degrees of freedom.
type noise struct {
	_  struct{} `cbor:",toarray"`
	SD number
	DF uint32
}

var (
	encoding = must(cbor.CoreDetEncOptions().EncMode())
	decoding = must(cbor.DecOptions{
		DupMapKey:         cbor.DupMapKeyEnforcedAPF,
		IndefLength:       cbor.IndefLengthForbidden,
		ExtraReturnErrors: cbor.ExtraDecErrorUnknownField,
		IntDec:            cbor.IntDecConvertSignedOrFail,
		BignumTag:         cbor.BignumTagForbidden,
		MaxNestedLevels:   16,
		DefaultMapType:    reflect.TypeFor[map[string]any](),
		MaxArrayElements:  1024,
		MaxMapPairs:       64,
	}.DecMode())
)

// must takes modes whose options stand above; their only error is a slip there.
func must[T any](mode T, err error) T {
	if err != nil {
		panic(err)
	}
	return mode
}
