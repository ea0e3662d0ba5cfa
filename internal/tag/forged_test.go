package tag

import (
	"encoding/binary"
	"encoding/hex"
	"hash/crc32"
	"strings"
	"testing"

	"gaugewright/internal/job"
)

// wrapped gives the text of any bytes, with a checksum that is right.
func wrapped(data []byte) string {
	return Prefix + toBase45(binary.BigEndian.AppendUint32(data[:len(data):len(data)], crc32.ChecksumIEEE(data)))
}

// fine gives a payload that is read.
func fine(t testing.TB) *payload {
	t.Helper()
	zero, full := 0.0, 72.5
	j := &job.Job{Version: job.Version, Number: "TK-7", Tanks: []job.Tank{{
		Name: "Gas", Contents: job.LPG, WaterCapacityL: 54, PermittedFillPct: 80,
		Bench:   job.Bench{Marks: "mark_pct", Gives: "ohm", Readings: []job.Reading{}},
		Setting: &job.Setting{Readout: job.TwoPoint, Scale: "fill", LowerOhm: &zero, UpperOhm: &full},
	}}}
	p, _, err := fill(j, &j.Tanks[0])
	if err != nil {
		t.Fatal(err)
	}
	p.Knots = []column{{0, 5, 45, 45}, {-1, 45, 405, 400}, {-1, 2, 0, 1}}
	return p
}

// A code made by someone else, its checksum right, is held to the same rules:
// above all to those for gas.
func TestForgedIsRefused(t *testing.T) {
	text, err := fine(t).text()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Decode(text); err != nil {
		t.Fatalf("the code that the others are made from: %v", err)
	}
	many := make(column, 1+MostKnots+1)
	for i := range many[1:] {
		many[1+i] = 1
	}
	for what, c := range map[string]struct {
		do   func(p *payload)
		says string
	}{
		"a permitted fill of 90 %":    {func(p *payload) { p.Permitted = 90 }, "85"},
		"a full mark above the limit": {func(p *payload) { p.Permitted = 0; p.Setting.Scale = 2 }, "permitted_fill_pct"},
		"a scale beyond the limit":    {func(p *payload) { f := number(110); p.Permitted = 80; p.Setting.Full = &f }, "setting"},
		"no name":                     {func(p *payload) { p.Tank = "" }, "name"},
		"a name of two lines":         {func(p *payload) { p.Tank = "a\nb" }, "name"},
		"a name that is too long":     {func(p *payload) { p.Tank = strings.Repeat("x", longestTank+1) }, "25 bytes"},
		"contents of no kind":         {func(p *payload) { p.Contents = 6 }, "kind"},
		"marks of no kind":            {func(p *payload) { p.Marks = 4 }, "kind"},
		"a signal of no kind":         {func(p *payload) { p.Gives = 4 }, "kind"},
		"a readout of no kind":        {func(p *payload) { p.Setting.Readout = 3 }, "kind"},
		"a scale of no kind":          {func(p *payload) { p.Setting.Scale = 4 }, "kind"},
		"equal end values":            {func(p *payload) { p.Setting.Ends[1] = 0 }, "both end values"},
		"one end value":               {func(p *payload) { p.Setting.Ends = p.Setting.Ends[:1] }, "numbers that its readout takes"},
		"ends and a table":            {func(p *payload) { p.Setting.Table = []column{{0, 1, 1}, {0, 1, 1}} }, "numbers that its readout takes"},
		"a table that falls": {func(p *payload) {
			p.Setting.Readout, p.Setting.Ends, p.Setting.Table = 1, nil, []column{{0, 9, -1}, {0, 1, 1}}
		}, "rise"},
		"a table of two lengths": {func(p *payload) {
			p.Setting.Readout, p.Setting.Ends, p.Setting.Table = 1, nil, []column{{0, 9, 1}, {0, 1}}
		}, "length"},
		"a table in too fine a power": {func(p *payload) {
			p.Setting.Readout, p.Setting.Ends, p.Setting.Table = 1, nil, []column{{-1, 90, 10}, {0, 1, 1}}
		}, "power of ten"},
		"a negative capacity":              {func(p *payload) { p.Capacity = -1 }, "water_capacity_l"},
		"a curve of two columns":           {func(p *payload) { p.Knots = p.Knots[:2] }, "2 columns"},
		"a curve of one knot":              {func(p *payload) { p.Knots = []column{{0, 5}, {0, 5}, {0, 5}} }, "1 marks"},
		"a curve of too many knots":        {func(p *payload) { p.Knots = []column{many, many, many} }, "49 marks"},
		"marks that fall":                  {func(p *payload) { p.Knots[0] = column{0, 95, -45, -45} }, "marks of the curve don't rise"},
		"a curve that turns back":          {func(p *payload) { p.Knots[1] = column{-1, 45, 405, -4} }, "neither rise nor fall"},
		"a curve that stands still":        {func(p *payload) { p.Knots[1] = column{-1, 45, 0, 0} }, "neither rise nor fall"},
		"a doubt below 0":                  {func(p *payload) { p.Knots[2] = column{-1, 2, 0, -3} }, "doubt of 0"},
		"a mark above the dial":            {func(p *payload) { p.Knots[0] = column{0, 5, 45, 451} }, "mark"},
		"neither setting nor curve":        {func(p *payload) { p.Setting, p.Knots = nil, nil }, "neither"},
		"a value beyond the signal":        {func(p *payload) { p.Knots[1] = column{6, 0, 1, 1} }, "100000"},
		"a scatter without a curve":        {func(p *payload) { p.Knots, p.Noise = nil, &noise{SD: 1, DF: 3} }, "without a curve"},
		"a date beyond all calendars":      {func(p *payload) { d := int32(lastDay + 1); p.Date = &d }, "beyond the years"},
		"ends of a dial":                   {func(p *payload) { p.Ends = []number{0, 100} }, "ends of the mark scale"},
		"ends the wrong way round":         {func(p *payload) { p.Marks, p.Ends, p.Setting.Scale = 1, []number{100, 0}, 0 }, ""},
		"a shape that is none":             {func(p *payload) { p.Shape = map[string]any{"shape": "bottle"} }, "shape"},
		"a shape in a file":                {func(p *payload) { p.Shape = map[string]any{"shape": "mesh", "file": "/etc/passwd"} }, "shape"},
		"a shape with a field of no shape": {func(p *payload) { p.Shape = map[string]any{"shape": "box", "colour": "red"} }, "colour"},
		"a gas counted in no known way":    {func(p *payload) { p.Gas = &gas{Propane: 1, By: 3} }, "counted"},
	} {
		p := fine(t)
		c.do(p)
		text, err := p.text()
		if err != nil {
			t.Fatal(err)
		}
		if j, err := Decode(text); err == nil {
			t.Errorf("%s is read as %+v", what, j.Tanks[0])
		} else if !strings.Contains(err.Error(), c.says) || !strings.HasPrefix(err.Error(), "the printed code is whole, but") {
			t.Errorf("%s: %v, want it to say %q", what, err, c.says)
		}
	}
}

// CBOR that says the same in another way is refused: there is one text for one
// content, and so none that two programs read differently (RFC 8949, 4.2.1).
func TestOneWayOfWriting(t *testing.T) {
	data, err := encoding.Marshal(fine(t))
	if err != nil {
		t.Fatal(err)
	}
	plain := hex.EncodeToString(data)
	if !strings.HasPrefix(plain, "a70164544b2d37") || !strings.Contains(plain, "061836") {
		t.Fatalf("the payload begins with %s", plain[:20])
	}
	for what, other := range map[string]string{
		"a map without its length": "bf" + plain[2:] + "ff",
		"a number in two bytes":    strings.Replace(plain, "061836", "06190036", 1),
		"a number as a float":      strings.Replace(plain, "061836", "06f952c0", 1),
		"a key twice":              "a8" + plain[2:14] + plain[2:],
		"keys in another order":    "a7" + strings.Replace(plain[14:], "061836", "0618360164544b2d37", 1),
		"a key that isn't known":   "a8" + plain[2:] + "187b00",
		"a text for a key":         "a8" + plain[2:] + "617800",
		"something behind":         plain + "00",
		"a list":                   "80",
		"nothing":                  "f6",
		"half of it":               plain[:40],
	} {
		data, err := hex.DecodeString(other)
		if err != nil {
			t.Fatal(err)
		}
		if j, err := Decode(wrapped(data)); err == nil {
			t.Errorf("%s is read as %+v", what, j)
		} else if !strings.HasPrefix(err.Error(), "the printed code is whole, but") {
			t.Errorf("%s: %v", what, err)
		}
	}
}
