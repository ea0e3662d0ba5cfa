package feed_test

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// FuzzDecode holds the decoder against the standard library's JSON, which reads
// the payload into maps: what is no JSON is refused, and what is accepted says
// the same.
func FuzzDecode(f *testing.F) {
	for _, s := range []string{
		"118.4", "null", "1e400", "-0", "1.7976931348623157e308", "NaN", "[1,2]", "[]", "{}", "", object,
		`{"ohm":1,"time":1793714460.25,"pitch_deg":1,"roll_deg":-1,"fault":"wet","tank":"grey"}`,
		`{"ohm":1,"ohm":2}`, `{"\u006fhm":7}`, `{"level_pct":null}`, `[{"count":7},{"volt":1e-7}]`, "\"\xff\"", "[[[[1",
	} {
		f.Add([]byte(s), false)
		f.Add([]byte(s), true)
	}
	f.Fuzz(func(t *testing.T, payload []byte, inside bool) {
		d := defaults()
		d.TankInside = inside
		got, err := feed.Decode(nil, payload, d)
		if err != nil {
			if len(got) != 0 {
				t.Fatalf("%d readings beside %v", len(got), err)
			}
			if v, e := json.Number(bytes.TrimSpace(payload)).Float64(); e == nil && json.Valid(payload) && len(payload) <= feed.MaxPayload && !math.IsInf(v, 0) {
				t.Fatalf("%q is a number, and: %v", payload, err)
			}
			return
		}
		var whole any
		if err := json.Unmarshal(payload, &whole); err != nil {
			t.Fatalf("%q was accepted; the standard library: %v", payload, err)
		}
		list, ok := whole.([]any)
		if !ok {
			list = []any{whole}
		}
		if len(list) != len(got) {
			t.Fatalf("%q: %d readings; want %d", payload, len(got), len(list))
		}
		for i, v := range list {
			matches(t, v, got[i])
		}
	})
}

// matches holds a reading against what the standard library read.
func matches(t *testing.T, v any, r watch.Reading) {
	object, ok := v.(map[string]any)
	if !ok {
		object = map[string]any{"ohm": v}
	}
	values := 0
	for name, v := range object {
		said, isText := v.(string)
		v, isNumber := v.(float64)
		switch name {
		case "ohm", "volt", "count", "level_pct":
			values++
			signal := map[string]watch.Signal{"ohm": watch.Ohm, "volt": watch.Volt, "count": watch.Count, "level_pct": watch.Percent}[name]
			wrong := r.Signal != signal
			switch r.Said {
			case watch.Measured:
				wrong = wrong || !isNumber || r.Value != v
			case watch.Unavailable:
				wrong = wrong || isNumber
			}
			if wrong {
				t.Fatalf("%s is %v, and the reading %+v", name, object[name], r)
			}
		case "fault":
			if (isText && said != "") != (r.Said == watch.Broken) {
				t.Fatalf("fault is %v, and the reading %+v", object[name], r)
			}
		case "tank":
			if isText && said != "" && said != r.Tank {
				t.Fatalf("tank is %v, and the reading %+v", object[name], r)
			}
		case "time":
			var want time.Time
			if isText {
				var err error
				if want, err = time.Parse(time.RFC3339Nano, said); err != nil {
					t.Fatalf("the time %q was accepted", said)
				}
			} else if isNumber && math.Abs(v) < 1e10 {
				want = time.UnixMicro(int64(math.Round(v * 1e6)))
			}
			if r.Clock == watch.SourceClock && math.Abs(float64(r.Time.Sub(want))) > 2000 {
				t.Fatalf("the time is %v, and the reading's %v", object[name], r.Time)
			}
			if r.Clock == watch.ArrivalClock && !r.Time.Equal(arrived) {
				t.Fatalf("arrived %v, and the reading's time is %v", arrived, r.Time)
			}
		case "pitch_deg", "roll_deg":
			got := r.Tilt
			if !isNumber || got == nil {
				if isNumber {
					t.Fatalf("%s is %v, and the reading has no tilt", name, v)
				}
				continue
			}
			back := float64(got.Pitch)
			if name == "roll_deg" {
				back = float64(got.Roll)
			}
			if math.Abs(back*180/math.Pi-v) > 1e-9 {
				t.Fatalf("%s is %v, and the reading's %v", name, v, back)
			}
		default:
			t.Fatalf("unknown field %q was accepted", name)
		}
	}
	if values > 1 || values == 0 && r.Said != watch.Broken {
		t.Fatalf("%d values, and the reading %+v", values, r)
	}
}
