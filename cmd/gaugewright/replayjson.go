package main

import (
	"encoding/json"
	"math"
	"strconv"
	"time"

	"gaugewright/internal/recording"
	"gaugewright/internal/watch"
)

// appendLevel writes a level as a line of JSON. What isn't known, or isn't
// shown, is null.
func appendLevel(out []byte, l watch.Level, at int64, like recording.Stamp, zone *time.Location) []byte {
	nan := math.NaN()
	mark, level, volume, u, low, high, mass := nan, nan, nan, nan, nan, nan, nan
	if l.Shown {
		mark, level, u = l.MarkPct, 100*float64(l.Share), 100*float64(l.U)
		low, high = 100*float64(l.Low), 100*float64(l.High)
		volume, mass = 1000*l.Volume.Mid, l.Mass.Mid
	}
	out = append(out, `{"time":`...)
	out = appendTime(out, at, like)
	out = appendFigure(append(out, `,"ohm":`...), float64(l.Ohm), 4)
	out = appendFigure(append(out, `,"mark_pct":`...), mark, 3)
	out = appendFigure(append(out, `,"level_pct":`...), level, 3)
	out = appendFigure(append(out, `,"volume_l":`...), volume, 3)
	out = appendFigure(append(out, `,"u_pct":`...), u, 4)
	out = append(append(out, `,"status":"`...), l.Status.String()...)
	out = append(out, `","reason":`...)
	out = appendText(out, l.Reason(zone))
	out = appendFigure(append(out, `,"low_pct":`...), low, 3)
	out = appendFigure(append(out, `,"high_pct":`...), high, 3)
	out = appendFigure(append(out, `,"mass_kg":`...), mass, 3)
	out = append(append(out, `,"motion":"`...), l.Motion.String()...)
	out = append(out, `","fault":`...)
	if l.Fault == watch.NoFault {
		out = append(out, "null"...)
	} else {
		out = appendText(out, l.Fault.String())
	}
	out = append(out, `,"since":`...)
	if l.Since.IsZero() {
		out = append(out, "null"...)
	} else {
		out = appendTime(out, l.Since.UnixNano(), like)
	}
	out = append(out, `,"last_good":`...)
	if l.Shown || l.Last.Time.IsZero() {
		out = append(out, "null"...)
	} else {
		out = appendTime(append(out, `{"time":`...), l.Last.Time.UnixNano(), like)
		out = appendFigure(append(out, `,"level_pct":`...), 100*float64(l.Last.Share), 3)
		out = appendFigure(append(out, `,"volume_l":`...), 1000*l.Last.Volume.Mid, 3)
		out = append(out, '}')
	}
	return append(out, "}\n"...)
}

// appendTime writes a time as the history has its own.
func appendTime(out []byte, at int64, like recording.Stamp) []byte {
	if !like.Text() {
		return like.Append(out, at)
	}
	return append(like.Append(append(out, '"'), at), '"')
}

func appendText(out []byte, text string) []byte {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c == '"' || c == '\\' || c >= 0x7F {
			b, err := json.Marshal(text)
			if err != nil {
				return append(out, `""`...)
			}
			return append(out, b...)
		}
	}
	return append(append(append(out, '"'), text...), '"')
}

// appendFigure writes a number to so many decimals, without zeros at its end;
// null for one that isn't known.
func appendFigure(out []byte, v float64, decimals int) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(out, "null"...)
	}
	scale := int64(1)
	for range decimals {
		scale *= 10
	}
	if math.Abs(v) >= 1e9 {
		return strconv.AppendFloat(out, v, 'g', -1, 64)
	}
	n := int64(math.RoundToEven(v * float64(scale)))
	if n < 0 {
		out, n = append(out, '-'), -n
	}
	out = strconv.AppendInt(out, n/scale, 10)
	part := n % scale
	if part == 0 {
		return out
	}
	out = append(out, '.')
	for scale /= 10; part > 0; scale /= 10 {
		out = append(out, byte('0'+part/scale))
		part %= scale
	}
	return out
}
