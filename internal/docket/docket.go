package docket

import (
	"context"
	"time"

	"gaugewright/internal/quantity"
)

// Kind is what is known.
type Kind string

// The kinds.
const (
	Receipt Kind = "receipt" // so much was filled in
	Stopped Kind = "stopped" // the pump stopped by itself: it stood at the permitted fill
	RanOut  Kind = "ran-out" // nothing came any more: it was empty, or down to its heel
	Weighed Kind = "weighed" // so much was in it by a scale
)

// Docket is one piece of evidence, as a person gave it.
type Docket struct {
	ID   string // unique in the watch; made by whoever enters it
	Tank string
	Kind Kind
	Time time.Time // when it was so
	// Litres or Kilograms of a Receipt or a Weighed one; one of them is above 0.
	Litres    float64
	Kilograms float64
	Typed     string // as it was typed, with its unit: "7.4 gal"
	// Stopped says of a receipt that the pump stopped by itself as well.
	Stopped bool
	Note    string
	Photo   string // the name of a picture that is kept with it; "": none
	Entered time.Time
	Struck  bool // it was struck out, and doesn't count
}

// Seen is what the watch saw about a docket.
type Seen struct {
	Line   int    `json:"-"` // of the file that it was read from; 0
	Docket Docket `json:"-"`
	// Before and After are the levels on the scale as the sender has them without
	// anything learned, with their standard uncertainties of reading; -1 where there is
	// none. What isn't a Receipt has its level in After alone.
	Before  float64 `json:"before"`
	After   float64 `json:"after"`
	UBefore float64 `json:"u_before"`
	UAfter  float64 `json:"u_after"`
	Used    float64 `json:"used"`   // what was drawn meanwhile, in parts of the full scale
	Refill  bool    `json:"refill"` // a refill was found that belongs to it
	// Start and End are of that refill; two dockets of one refill have the same Start.
	Start time.Time `json:"start"`
	End   time.Time `json:"end"`
	// Broken says that there is no level because the sender couldn't be believed then.
	Broken bool      `json:"broken"`
	Looked time.Time `json:"looked"` // when it was last looked for; zero: it wasn't
	Done   bool      `json:"done"`   // looking again won't find more
}

// Verdict is how a docket agrees with what was seen.
type Verdict struct {
	Seen     Seen
	Counts   bool    // it is taken into account
	Rise     float64 // litres by the sender, NaN where that isn't known
	Low      float64 // 90 % interval of it
	High     float64
	Sentence string // what is to be said of it: that it agrees, how far it is off, that its unit may be another
	// Caution is what has to be seen to where more was filled in than may be; "" else.
	Caution string
	Wrong   float64 // probability that its amount, or its moment, belongs to something else or was mistyped
}

// Learned is what the dockets of a tank say.
type Learned struct {
	N        int       // dockets that count
	Verdicts []Verdict // of each, the latest first
	// Helps says that levels corrected by it are nearer to the truth beyond doubt, and
	// Applied that they are corrected by it.
	Helps, Applied bool
	// Holds says that the tank holds another amount than was stated, beyond doubt.
	Holds bool
	// Better is the probability that they are nearer, by the largest error between a
	// tenth and eight tenths; Was and Is are those errors as they are to be expected
	// without and with it, in parts of the scale.
	Better, Was, Is float64
	// Correction is the whole of what was learned of the level; nil where nothing was.
	Correction *Correction
	// Off is by how much the sender shows too much (above 0) or too little at empty, a
	// quarter, half, three quarters and full, in parts of the scale, with U and what
	// was believed before.
	At, Off, UOff [5]float64
	// Capacity is what the full scale holds as learned, with its standard uncertainty; 0
	// where it isn't.
	Capacity, UCapacity quantity.CubicMetre
	// Lower and Upper are the end values to key in instead, in the sender's unit;
	// Propose says that the evidence is strong enough, and Reason why or why not.
	Propose      bool
	Lower, Upper float64
	Reason       string
	Cautions     []string // where the contents are dangerous
}

// Book keeps the dockets of a watch. It may be asked by many at once.
type Book interface {
	// Enter keeps a docket. One with the ID of another that is the same is kept once;
	// the error says where it can't be used.
	Enter(ctx context.Context, d Docket, photo []byte) error
	// Strike strikes one out, or takes it back in.
	Strike(ctx context.Context, tank, id string, struck bool) error
	// Learned gives what the dockets of a tank say.
	Learned(ctx context.Context, tank string) (Learned, error)
	// Photo gives a picture that was kept.
	Photo(ctx context.Context, tank, id string) (data []byte, kind string, err error)
	// Refills gives the latest refills of a tank for which there is no docket yet.
	Refills(ctx context.Context, tank string) ([]Refill, error)
}

// Refill is a refill that was seen.
type Refill struct {
	Start, End time.Time
	Litres     float64 // NaN where it isn't known
	Low, High  float64
	Share      float64 // the same in parts of the full scale
	// Before and After are the levels on the scale.
	Before, After float64
}
