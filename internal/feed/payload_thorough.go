package feed

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"gaugewright/internal/watch"
)

// thorough reads any payload, and finds what is wrong with it.
func thorough(into []watch.Reading, payload []byte, d *Defaults) ([]watch.Reading, error) {
	if len(bytes.TrimLeft(payload, " \t\r\n")) == 0 {
		return into, refuse(Empty, "the payload is empty; expected a number or JSON")
	}
	var whole json.RawMessage
	if err := json.Unmarshal(payload, &whole); err != nil {
		return into, refuse(NotJSON, "the payload %s can't be read (%v); expected a number such as 118.4, or JSON such as {\"ohm\":118.4}", short(payload), err)
	}
	dec := json.NewDecoder(bytes.NewReader(payload))
	dec.UseNumber()
	if payload[len(payload)-len(bytes.TrimLeft(payload, " \t\r\n"))] != '[' {
		r, no := next(dec, d)
		if no != nil {
			return into, no
		}
		return append(into, r), nil
	}
	_, _ = dec.Token() // [
	out := into
	for dec.More() {
		n := len(out) - len(into)
		if n == MaxReadings {
			return into, refuse(TooMany, "the payload has more than %d readings; expected at most so many at once", MaxReadings)
		}
		r, no := next(dec, d)
		if no != nil {
			return into, &Refusal{no.why, fmt.Sprintf("reading %d of the payload: %s", n+1, no.text)}
		}
		out = append(out, r)
	}
	if len(out) == len(into) {
		return into, refuse(Empty, "the payload is an empty list; expected at least one reading")
	}
	return out, nil
}

// next reads a reading from what is known to be JSON.
func next(dec *json.Decoder, d *Defaults) (watch.Reading, *Refusal) {
	var f fields
	t := value(dec)
	switch {
	case t.kind == number && math.IsInf(t.num, 0):
		return watch.Reading{}, refuse(OutOfRange, "the number is beyond what can be reckoned with; expected one up to 1.8e308")
	case t.kind == number || t.kind == null:
		f.value, f.signal, f.seen = t, d.Signal, 1<<theOhm
	case string(t.text) != "{" || t.kind != other:
		return watch.Reading{}, refuse(WrongKind, "it is neither a number nor an object; expected a number such as 118.4, or an object such as {\"ohm\":118.4}")
	default:
		for dec.More() {
			name, _ := dec.Token()
			if no := f.put([]byte(name.(string)), value(dec), d); no != nil {
				return watch.Reading{}, no
			}
		}
		_, _ = dec.Token() // }
	}
	return f.reading(d)
}

// value gives the next token. What it is built of, if anything, is still to come.
func value(dec *json.Decoder) token {
	t, _ := dec.Token()
	switch t := t.(type) {
	case json.Number:
		v, err := strconv.ParseFloat(string(t), 64)
		if err != nil {
			v = math.Inf(1)
		}
		return token{kind: number, num: v}
	case string:
		return token{kind: text, text: []byte(t)}
	case nil:
		return token{kind: null}
	case json.Delim:
		return token{kind: other, text: []byte(t.String())}
	}
	return token{kind: other}
}
