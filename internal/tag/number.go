package tag

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/fxamacker/cbor/v2"
)

// number is a figure as it stands in the job: a CBOR integer where it is whole
// and below 2^53, else a decimal fraction (RFC 8949, 3.4.4), tag 4 with the
// exponent and the shortest digits. 12.5 is 125 × 10⁻¹ and stays 12.5.
type number float64

// decimal gives the shortest digits m and the exponent e with v = m × 10^e; m
// doesn't end with 0.
func decimal(v float64) (m int64, e int) {
	text := strconv.FormatFloat(v, 'e', -1, 64)
	digits, exponent, _ := strings.Cut(text, "e")
	e, _ = strconv.Atoi(exponent) // strconv wrote it
	whole, part, _ := strings.Cut(digits, ".")
	m, _ = strconv.ParseInt(whole+part, 10, 64) // at most 17 digits
	e -= len(part)
	for m != 0 && m%10 == 0 {
		m, e = m/10, e+1
	}
	if m == 0 {
		e = 0
	}
	return m, e
}

// fromDecimal gives the figure nearest to m × 10^e.
func fromDecimal(m int64, e int) float64 {
	v, _ := strconv.ParseFloat(strconv.FormatInt(m, 10)+"e"+strconv.Itoa(e), 64)
	return v
}

// wholeLimit is where whole figures stop being exact.
const wholeLimit = 1 << 53

// MarshalCBOR writes an integer or a decimal fraction.
func (n number) MarshalCBOR() ([]byte, error) {
	v := float64(n)
	if v == math.Trunc(v) && math.Abs(v) < wholeLimit {
		return encoding.Marshal(int64(v))
	}
	m, e := decimal(v)
	return encoding.Marshal(cbor.Tag{Number: 4, Content: []int64{int64(e), m}})
}

// UnmarshalCBOR reads what MarshalCBOR writes.
func (n *number) UnmarshalCBOR(data []byte) error {
	var v any
	if err := decoding.Unmarshal(data, &v); err != nil {
		return err
	}
	f, ok := figure(v)
	if !ok {
		return fmt.Errorf("found %v; expected a whole number or a decimal fraction", v)
	}
	*n = number(f)
	return nil
}

// figure gives the number that CBOR's data item stands for.
func figure(v any) (float64, bool) {
	switch v := v.(type) {
	case int64:
		return float64(v), v > -wholeLimit && v < wholeLimit
	case cbor.Tag:
		pair, ok := v.Content.([]any)
		if v.Number != 4 || !ok || len(pair) != 2 {
			return 0, false
		}
		e, eOK := pair[0].(int64)
		m, mOK := pair[1].(int64)
		if !eOK || !mOK || e < -400 || e > 400 {
			return 0, false
		}
		f := fromDecimal(m, int(e))
		return f, !math.IsInf(f, 0)
	}
	return 0, false
}

// column is figures that mostly differ little from one to the next: an exponent
// of ten, the first figure and then the steps, all whole in that power of ten.
type column []int64

// The exponents of columns, and the largest of their figures in units of them.
const (
	finest, coarsest = -9, 6
	columnLimit      = 1e15
)

// toColumn writes figures exactly; false where one has too many digits.
func toColumn(figures []float64) (column, bool) {
	e := coarsest
	for _, v := range figures {
		if m, own := decimal(v); m != 0 {
			e = min(e, own)
		}
	}
	zero := true
	for _, v := range figures {
		zero = zero && v == 0
	}
	if zero {
		e = 0
	}
	if e < finest {
		return nil, false
	}
	out, last := column{int64(e)}, int64(0)
	for _, v := range figures {
		m, own := decimal(v)
		for ; own > e && m != 0 && math.Abs(float64(m)) < columnLimit; own-- {
			m *= 10
		}
		if math.Abs(float64(m)) >= columnLimit {
			return nil, false
		}
		out = append(out, m-last)
		last = m
	}
	return out, true
}

// figures reads what toColumn writes; false for what it wouldn't write.
func (c column) figures() ([]float64, bool) {
	if len(c) < 2 || c[0] < finest || c[0] > coarsest {
		return nil, false
	}
	out, sum := make([]float64, 0, len(c)-1), int64(0)
	for _, step := range c[1:] {
		if math.Abs(float64(step)) >= 2*columnLimit {
			return nil, false
		}
		if sum += step; math.Abs(float64(sum)) >= columnLimit {
			return nil, false
		}
		out = append(out, fromDecimal(sum, int(c[0])))
	}
	return out, true
}
