package feed_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

var arrived = time.Date(2026, 11, 3, 14, 2, 0, 0, time.UTC)

func defaults() feed.Defaults {
	return feed.Defaults{Tank: "fresh", Source: "mqtt", Signal: watch.Ohm, Arrived: arrived}
}

// reading gives a reading at the time of arrival.
func reading(change func(*watch.Reading)) watch.Reading {
	r := watch.Reading{Tank: "fresh", Source: "mqtt", Time: arrived, Arrived: arrived, Clock: watch.ArrivalClock}
	change(&r)
	return r
}

func ohm(v float64) watch.Reading { return reading(func(r *watch.Reading) { r.Value = v }) }

func same(a, b watch.Reading) bool {
	tilts := a.Tilt == nil && b.Tilt == nil || a.Tilt != nil && b.Tilt != nil && *a.Tilt == *b.Tilt
	times := a.Time.Equal(b.Time) && a.Arrived.Equal(b.Arrived)
	values := a.Value == b.Value || math.IsNaN(a.Value) && math.IsNaN(b.Value)
	a.Tilt, a.Time, a.Arrived, a.Value, b.Value = b.Tilt, b.Time, b.Arrived, 0, 0
	return tilts && times && values && a == b
}

func TestDecode(t *testing.T) {
	minute := time.Date(2026, 11, 3, 14, 1, 0, 0, time.UTC)
	at := func(v float64, t time.Time) watch.Reading {
		return reading(func(r *watch.Reading) { r.Value, r.Time, r.Clock = v, t, watch.SourceClock })
	}
	for payload, want := range map[string][]watch.Reading{
		"118.4":                                  {ohm(118.4)},
		" 118.4\r\n":                             {ohm(118.4)},
		"-0.5e+1":                                {ohm(-5)},
		"99999":                                  {ohm(99999)},
		"0.1":                                    {ohm(0.1)},
		"118.400000000001":                       {ohm(118.400000000001)},
		"1e-400":                                 {ohm(0)},
		`{"ohm":118.4}`:                          {ohm(118.4)},
		`{"volt":2.5}`:                           {reading(func(r *watch.Reading) { r.Value, r.Signal = 2.5, watch.Volt })},
		`{"count":1023}`:                         {reading(func(r *watch.Reading) { r.Value, r.Signal = 1023, watch.Count })},
		`{"level_pct":61}`:                       {reading(func(r *watch.Reading) { r.Value, r.Signal = 61, watch.Percent })},
		"null":                                   {reading(func(r *watch.Reading) { r.Said = watch.Unavailable })},
		`{"volt":null}`:                          {reading(func(r *watch.Reading) { r.Said, r.Signal = watch.Unavailable, watch.Volt })},
		`{"fault":"wet"}`:                        {reading(func(r *watch.Reading) { r.Said = watch.Broken })},
		`{"ohm":7,"fault":"wet","time":null}`:    {reading(func(r *watch.Reading) { r.Said = watch.Broken })},
		`{"ohm":7,"fault":""}`:                   {ohm(7)},
		`{"ohm":7,"source":"left_2"}`:            {reading(func(r *watch.Reading) { r.Value, r.Source = 7, "mqtt/left_2" })},
		`{"ohm":7,"fault":null,"roll_deg":null}`: {ohm(7)},
		`{"ohm":118.4,"time":"2026-11-03T14:01:00Z"}`:     {at(118.4, minute)},
		`{"ohm":1,"time":"2026-11-03T15:01:00+01:00"}`:    {at(1, minute)},
		`{"ohm":1,"time":1793714460}`:                     {at(1, minute)},
		`{"ohm":1,"time":1793714460.25}`:                  {at(1, minute.Add(250*time.Millisecond))},
		`{"ohm":1,"time":"2026-11-03T14:01:00.123456Z"}`:  {at(1, minute.Add(123456*time.Microsecond))},
		`{"ohm":1,"time":0}`:                              {ohm(1)}, // a clock that was never set
		`{"ohm":1,"time":"2100-01-01T00:00:00Z"}`:         {ohm(1)}, // yet to come
		`{"ohm":1,"time":1793714460000}`:                  {ohm(1)}, // milliseconds, by mistake
		`{"ohm":1,"time":-1e300}`:                         {ohm(1)},
		`{"ohm":1,"pitch_deg":180,"roll_deg":-90}`:        {reading(func(r *watch.Reading) { r.Value, r.Tilt = 1, &watch.Tilt{Pitch: math.Pi, Roll: -math.Pi / 2} })},
		`{"ohm":1,"roll_deg":90}`:                         {reading(func(r *watch.Reading) { r.Value, r.Tilt = 1, &watch.Tilt{Roll: math.Pi / 2} })},
		`{"\u006fhm":7}`:                                  {ohm(7)},
		` [ 1 , {"ohm":2}, null,{"ohm":3 , "fault":""} ]`: {ohm(1), ohm(2), reading(func(r *watch.Reading) { r.Said = watch.Unavailable }), ohm(3)},
		`[{"\u006fhm":7}]`:                                {ohm(7)},
	} {
		before := ohm(1)
		got, err := feed.Decode([]watch.Reading{before}, []byte(payload), defaults())
		if err != nil || len(got) != 1+len(want) || !same(got[0], before) {
			t.Errorf("%s: %+v, %v", payload, got, err)
			continue
		}
		for i, w := range want {
			if !same(got[i+1], w) {
				t.Errorf("%s:\ngot  %+v\nwant %+v", payload, got[i+1], w)
			}
		}
	}
}

func TestDecodeRefuses(t *testing.T) {
	for payload, want := range map[string][2]string{
		"":                                     {feed.Empty, "empty"},
		" \n":                                  {feed.Empty, "empty"},
		"[]":                                   {feed.Empty, "empty list"},
		"NaN":                                  {feed.NotJSON, "NaN"},
		"-Infinity":                            {feed.NotJSON, "-Infinity"},
		`{"ohm":NaN}`:                          {feed.NotJSON, "NaN"},
		"118,4":                                {feed.NotJSON, "118,4"},
		"0118":                                 {feed.NotJSON, "0118"},
		"+1":                                   {feed.NotJSON, "+1"},
		".5":                                   {feed.NotJSON, ".5"},
		"1.":                                   {feed.NotJSON, "1."},
		"118.4\x00":                            {feed.NotJSON, `118.4\x00`},
		"\xff\xfe\x00":                         {feed.NotJSON, `\xff`},
		`{"ohm":1}{"ohm":2}`:                   {feed.NotJSON, "after"},
		`{"ohm":1,}`:                           {feed.NotJSON, ""},
		`"118.4"`:                              {feed.WrongKind, "neither a number nor an object"},
		"true":                                 {feed.WrongKind, "neither a number nor an object"},
		"[[1]]":                                {feed.WrongKind, "reading 1"},
		`["{"]`:                                {feed.WrongKind, "reading 1"},
		`[1,{"ohm":"7"}]`:                      {feed.WrongKind, `reading 2 of the payload: the field "ohm" isn't a number`},
		`{"ohm":{"v":1}}`:                      {feed.WrongKind, `"ohm"`},
		`{"ohm":1,"time":true}`:                {feed.WrongKind, `"time"`},
		`{"ohm":1,"fault":1}`:                  {feed.WrongKind, `"fault"`},
		`{"ohm":1,"roll_deg":"1"}`:             {feed.WrongKind, `"roll_deg"`},
		`{"Ohm":1}`:                            {feed.UnknownField, `"Ohm"`},
		`{"ohms":1}`:                           {feed.UnknownField, `"ohms"`},
		`{"ohm":1,"tank":"grey"}`:              {feed.UnknownField, `"tank"`},
		`{"ohm":1,"` + long + `":2}`:           {feed.UnknownField, long[:40] + "…"},
		`{"ohm":1,"ohm":1}`:                    {feed.FieldTwice, `"ohm"`},
		`{"ohm":1,"fault":null,"fault":"wet"}`: {feed.FieldTwice, `"fault"`},
		`{"ohm":1,"volt":1}`:                   {feed.SeveralValues, `"volt"`},
		`{}`:                                   {feed.NoValue, "level_pct"},
		`{"time":1793714460}`:                  {feed.NoValue, "level_pct"},
		`{"fault":""}`:                         {feed.NoValue, "level_pct"},
		"1e400":                                {feed.OutOfRange, "1.8e308"},
		`{"ohm":-1e309}`:                       {feed.OutOfRange, `"ohm"`},
		`{"ohm":1,"time":1e999}`:               {feed.OutOfRange, `"time"`},
		`{"ohm":1,"pitch_deg":181}`:            {feed.OutOfRange, "181"},
		`{"ohm":1,"time":"yesterday"}`:         {feed.NotATime, `"yesterday"`},
		`{"ohm":1,"time":"2026-02-30T14:01Z"}`: {feed.NotATime, "2026-02-30"},
		"[" + strings.Repeat("1,", feed.MaxReadings) + "1]": {feed.TooMany, "1000"},
		strings.Repeat(" ", feed.MaxPayload) + "1":          {feed.TooLong, "65537"},
	} {
		before := []watch.Reading{ohm(1)}
		got, err := feed.Decode(before, []byte(payload), defaults())
		var no *feed.Refusal
		if !errors.As(err, &no) || no.Why() != want[0] || !strings.Contains(err.Error(), want[1]) || len(err.Error()) > 300 {
			t.Errorf("%.60q: %v; want %q with %q", payload, err, want[0], want[1])
		}
		if len(got) != 1 || !same(got[0], before[0]) {
			t.Errorf("%.60q: the list is %+v", payload, got)
		}
	}
	if got, err := feed.Decode(nil, []byte("["+strings.Repeat("1,", feed.MaxReadings-1)+"1]"), defaults()); err != nil || len(got) != feed.MaxReadings {
		t.Errorf("as many as may be: %d, %v", len(got), err)
	}
}

var long = strings.Repeat("x", 1000)

func TestDecodeTankInside(t *testing.T) {
	d := defaults()
	d.TankInside = true
	got, err := feed.Decode(nil, []byte(`[{"tank":"grey","ohm":7},{"ohm":8}]`), d)
	if err != nil || len(got) != 2 || got[0].Tank != "grey" || got[1].Tank != "fresh" {
		t.Errorf("%+v, %v", got, err)
	}
	d.Tank = ""
	var no *feed.Refusal
	for _, payload := range []string{"7", `{"ohm":7}`, `{"tank":null,"ohm":7}`, `{"tank":"","ohm":7}`} {
		if _, err := feed.Decode(nil, []byte(payload), d); !errors.As(err, &no) || no.Why() != feed.NoTank {
			t.Errorf("%s: %v", payload, err)
		}
	}
	if _, err := feed.Decode(nil, []byte(`{"tank":7,"ohm":7}`), d); !errors.As(err, &no) || no.Why() != feed.WrongKind {
		t.Errorf("%v", err)
	}
}

func TestDecodeAllocates(t *testing.T) {
	into := make([]watch.Reading, 0, 4)
	for _, payload := range []string{"118.4", object, "[1,2,3]"} {
		if n := testing.AllocsPerRun(100, func() {
			if _, err := feed.Decode(into, []byte(payload), defaults()); err != nil {
				t.Fatal(err)
			}
		}); n > 1 { // the payload itself, copied for this test
			t.Errorf("%s: %v allocations", payload, n)
		}
	}
}

const object = `{"ohm":118.4,"time":"2026-11-03T14:01:00Z"}`

func BenchmarkDecode(b *testing.B) {
	list := "[" + strings.Repeat(object+",", 99) + object + "]"
	for _, payload := range []string{"118.4", object, `{"ohm":118.4,"time":1793714460.25,"pitch_deg":1.5,"roll_deg":-2}`, `{"\u006fhm":118.4}`, list} {
		b.Run(fmt.Sprintf("%.40s", payload), func(b *testing.B) {
			b.ReportAllocs()
			p, into, d := []byte(payload), make([]watch.Reading, 0, 100), defaults()
			for b.Loop() {
				if _, err := feed.Decode(into, p, d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A source's name is a name; a time that isn't believed is told, and the time of
// arrival stands instead.
func TestDecodeDoubts(t *testing.T) {
	for _, payload := range []string{`{"ohm":7,"source":""}`, `{"ohm":7,"source":"a/b"}`, `{"ohm":7,"source":3}`, `{"ohm":7,"source":"` + strings.Repeat("x", 33) + `"}`} {
		if got, err := feed.Decode(nil, []byte(payload), defaults()); err == nil || !strings.Contains(err.Error(), `"source" is no name`) {
			t.Errorf("%s gives %v, %v", payload, got, err)
		}
	}
	for payload, want := range map[string]string{
		`{"ohm":7,"time":"1970-01-01T00:03:00Z"}`: "a clock that was never set",
		`{"ohm":7,"time":"2100-01-01T00:00:00Z"}`: "a time that is yet to come",
		`{"ohm":7,"time":"2026-11-03T14:01:00Z"}`: "",
	} {
		d, why := defaults(), ""
		d.Doubted = func(w string) { why = w }
		got, err := feed.Decode(nil, []byte(payload), d)
		if err != nil || why != want || len(got) != 1 || (want == "") != (got[0].Clock == watch.SourceClock) || want != "" && !got[0].Time.Equal(arrived) {
			t.Errorf("%s gives %+v, %v, with the doubt %q; expected %q", payload, got, err, why, want)
		}
	}
}
