package xdr

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/feed/feedtest"
)

// Sentences and checksums of the reference.
var known = map[string][]Transducer{
	"$IIXDR,E,75.0,P,FreshWater#0*4B":   {{"E", "75.0", "P", "FreshWater#0"}},
	"$IIXDR,V,0.1125,M,FreshWater#0*40": {{"V", "0.1125", "M", "FreshWater#0"}},
	"$WIXDR,C,19.5,C,AIRTEMP*15":        {{"C", "19.5", "C", "AIRTEMP"}},
}

func TestKnownSentences(t *testing.T) {
	for text, want := range known {
		s, err := Parse([]byte(text + "\r\n"))
		got, err2 := Transducers(s)
		if err != nil || err2 != nil || !s.Checked || s.Type != "XDR" || s.Talker != text[1:3] || s.Length != len(text)+2 || !slices.Equal(got, want) {
			t.Errorf("%s: %+v, %v, %v, %v", text, s, got, err, err2)
		}
		if back, err := Encode(s.Talker, want...); err != nil || string(back) != text+"\r\n" {
			t.Errorf("%q, %v; expected %q", back, err, text)
		}
	}
}

func TestSentences(t *testing.T) {
	for _, c := range []struct {
		line string
		err  error
		want Sentence
	}{
		{"$IIXDR,E,75.0,P,FreshWater#0*4b", nil, Sentence{Talker: "II", Type: "XDR", Checked: true}},
		{"$IIXDR,E,75.0,P,FreshWater#0", nil, Sentence{Talker: "II", Type: "XDR"}},
		{"\x00\xff.0,P,Fr$IIXDR,E,75.0,P,FreshWater#0*4B", nil, Sentence{Talker: "II", Type: "XDR", Checked: true, Noise: true}},
		{"$IIXDR,E,7$IIXDR,E,75.0,P,FreshWater#0*4B", nil, Sentence{Talker: "II", Type: "XDR", Checked: true, Noise: true}},
		{`\s:bridge,c:1436509052*28\$IIXDR,E,75.0,P,FreshWater#0*4B`, nil, Sentence{Talker: "II", Type: "XDR", Checked: true, Tagged: time.Unix(1436509052, 0).UTC()}},
		{`\c:1436509052250*65\$IIXDR,E,75.0,P,FreshWater#0*4B`, nil, Sentence{Talker: "II", Type: "XDR", Checked: true, Tagged: time.UnixMilli(1436509052250).UTC()}},
		{`\c:1436509052*00\$IIXDR,E,75.0,P,FreshWater#0*4B`, nil, Sentence{Talker: "II", Type: "XDR", Checked: true}},
		{`\c:1436509052\$IIXDR,E,75.0,P,FreshWater#0*4B`, nil, Sentence{Talker: "II", Type: "XDR", Checked: true}},
		{`\s:bridge*56\$IIXDR,E,75.0,P,FreshWater#0*4B`, nil, Sentence{Talker: "II", Type: "XDR", Checked: true}},
		{"$PXYZA,1", nil, Sentence{Type: "PXYZA"}},
		{"$HELLO", nil, Sentence{Talker: "HE", Type: "LLO"}},
		{"", ErrNoSentence, Sentence{}},
		{"$", ErrNoSentence, Sentence{}},
		{"$,1", ErrNoSentence, Sentence{}},
		{"IIXDR,E,75.0,P,FreshWater#0*4B", ErrNoSentence, Sentence{}},
		{"$IIXDR,E,75.1,P,FreshWater#0*4B", ErrChecksum, Sentence{}},
		{"$IIXDR,E,75.0,P,FreshWater#0*4", ErrChecksum, Sentence{}},
		{"$IIXDR,E,75.0,P,FreshWater#0*", ErrChecksum, Sentence{}},
		{"$IIXDR,E,75.0,P,FreshWater#0*4B4", ErrChecksum, Sentence{}},
		{"$IIXDR,E,75.0,P,FreshWater#0*+B", ErrChecksum, Sentence{}},
		{"$IIXDR,E,75\x80.0,P,FreshWater#0*4B", ErrText, Sentence{}},
	} {
		s, err := Parse([]byte(c.line))
		s.Fields, s.Length = nil, 0
		if !errors.Is(err, c.err) || s.Talker != c.want.Talker || s.Type != c.want.Type || s.Checked != c.want.Checked || s.Noise != c.want.Noise || !s.Tagged.Equal(c.want.Tagged) {
			t.Errorf("%q: %+v, %v; expected %+v, %v", c.line, s, err, c.want, c.err)
		}
	}
	for _, text := range []string{"$IIXDR", "$IIXDR,", "$IIXDR,E,75.0,P", "$IIXDR,E,75.0,P,a,E"} {
		s, err := Parse([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if list, err := Transducers(s); !errors.Is(err, ErrGroups) {
			t.Errorf("%s: %v, %v", text, list, err)
		}
	}
}

func TestEncodeInVain(t *testing.T) {
	x := Transducer{"E", "75.0", "P", "FreshWater#0"}
	for _, c := range []struct {
		talker string
		list   []Transducer
		words  string
	}{
		{"I", []Transducer{x}, "two letters"},
		{"II", nil, "one at least"},
		{"II", []Transducer{x, x, x, x}, "at most 82"},
		{"II", []Transducer{{"E", "75,0", "P", "a"}}, "comma in the field"},
		{"II", []Transducer{{"E", "75", "P", "a*b"}}, "character '*'"},
		{"II", []Transducer{{"E", "75", "P", "a\nb"}}, "printable"},
	} {
		if b, err := Encode(c.talker, c.list...); err == nil || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%q, %v; expected %q", b, err, c.words)
		}
	}
}

// Whatever can be written comes back, and any one character changed on its way
// doesn't pass.
func TestBackAndForth(t *testing.T) {
	word := rapid.StringMatching(`[A-Za-z0-9#_. -]{1,10}`)
	rapid.Check(t, func(t *rapid.T) {
		var list []Transducer
		for range rapid.IntRange(1, 3).Draw(t, "groups") {
			list = append(list, Transducer{rapid.StringMatching(`[A-Z]`).Draw(t, "type"), rapid.StringMatching(`-?[0-9]{1,3}(\.[0-9]{1,2})?|`).Draw(t, "value"),
				rapid.StringMatching(`[A-Z]?`).Draw(t, "unit"), strings.TrimSpace(word.Draw(t, "name"))})
		}
		line, err := Encode(rapid.StringMatching(`[A-OQ-Z][A-Z]`).Draw(t, "talker"), list...)
		if err != nil {
			t.Skip("too long") // four words of ten characters
		}
		s, err := Parse(line)
		back, err2 := Transducers(s)
		if err != nil || err2 != nil || !slices.Equal(back, list) || s.Length != len(line) || s.Length > Longest {
			t.Fatalf("%q: %+v, %v, %v, %v", line, s, back, err, err2)
		}
		at := rapid.IntRange(1, len(line)-6).Draw(t, "where")
		bit := byte(1) << rapid.IntRange(0, 6).Draw(t, "bit")
		damaged := bytes.Clone(line)
		damaged[at] ^= bit
		// A new $ begins a sentence anew, and a new * ends one; neither is right. Of
		// what follows a $, one in 256 has the right sum by chance: then it has no
		// address of transducers.
		if s, err := Parse(damaged); err == nil && s.Checked && !(s.Noise && s.Type != "XDR") {
			t.Fatalf("%q passes as %+v", damaged, s)
		}
	})
}

func FuzzParse(f *testing.F) {
	for text := range known {
		f.Add([]byte(text))
	}
	f.Add([]byte("\\s:a,c:1436509052*00\\$IIXDR,E,,P,a,A,1,D,PITCH*00\r\n"))
	f.Add([]byte("$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"))
	f.Add([]byte("$GPZDA,201530.00,04,07,2026,00,00*65"))
	f.Fuzz(func(t *testing.T, line []byte) {
		s, err := Parse(line)
		if err != nil {
			return
		}
		TimeOf(s)
		list, err := Transducers(s)
		if err != nil {
			return
		}
		for _, x := range list {
			if v, err := x.Number(); err == nil && v != v {
				t.Errorf("%q: NaN", line)
			}
		}
		again, err := Sentence{Talker: s.Talker, Type: s.Type, Fields: s.Fields}.Append(nil)
		if err != nil {
			return // too long, or a character that is for tag blocks and marks
		}
		back, err := Parse(again)
		if err != nil || !back.Checked || back.Type != s.Type || back.Talker != s.Talker || strings.TrimRight(strings.Join(back.Fields, ","), " ") != strings.TrimRight(strings.Join(s.Fields, ","), " ") {
			t.Errorf("%q became %q: %+v, %v", line, again, back, err)
		}
	})
}

func FuzzStream(f *testing.F) {
	f.Add([]byte("$IIXDR,E,75.0,P,FreshWater#0*4B\r\nxx\n$IIXDR,A,3,D,PITCH,A,-2,D,ROLL\r"), uint8(7))
	f.Add([]byte("$GPZDA,201530.00,04,07,2026,00,00*65\r\n$IIXDR,V,0.1,M,Fuel,U,2.1,V,a,G,,,Fuel*00"), uint8(1))
	f.Fuzz(func(t *testing.T, stream []byte, step uint8) {
		whole, parts := newTape(), newTape()
		for _, s := range []*feedtest.Tape{whole, parts} {
			r := receiving(t, "checksum = 'optional'\nclock = true\n"+boat)
			size := len(stream) + 1
			if s == parts {
				size = int(step%31) + 1
			}
			var cut cutter
			first := true
			for chunk := range slices.Chunk(stream, size) {
				cut.push(chunk, func(line []byte, toolong bool) {
					s.Readings = r.listener.line(s.Readings, line, toolong, first, noon, s)
					first = false
				})
			}
			if len(cut.part) > longestLine {
				t.Fatalf("%d bytes kept", len(cut.part))
			}
		}
		if whole.Text() != parts.Text() || len(whole.Counts) != len(parts.Counts) {
			t.Errorf("%q\n%s %v\n%s %v", stream, whole.Text(), whole.Counts, parts.Text(), parts.Counts)
		}
	})
}
