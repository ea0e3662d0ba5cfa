package can

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var noon = time.Date(2026, 5, 3, 12, 0, 0, 250_000_000, time.UTC)

func entry(at time.Time, bus string, f Frame, data ...byte) Entry {
	f.Length += uint8(copy(f.Data[:], data))
	return Entry{at, bus, f}
}

// The forms are those that can-utils print; TestCanUtils compares with the tools
// themselves.
func TestLines(t *testing.T) {
	at := time.Unix(1436509052, 249713000).UTC()
	for line, want := range map[string]Entry{
		"(1436509052.249713) can0 18FEFC23#FF4B":                                          entry(at, "can0", Frame{ID: 0x18FEFC23, Extended: true}, 0xFF, 0x4B),
		"(1436509052.249713) can0 18FEFC23#FF4B R":                                        entry(at, "can0", Frame{ID: 0x18FEFC23, Extended: true}, 0xFF, 0x4B),
		"(1436509052.249713) vcan12 7ff#1a.2B T":                                          entry(at, "vcan12", Frame{ID: 0x7FF}, 0x1A, 0x2B),
		"(1436509052.249713) can0 123#":                                                   entry(at, "can0", Frame{ID: 0x123}),
		"(1436509052.249713) can0 123#R":                                                  entry(at, "can0", Frame{ID: 0x123, Kind: Remote}),
		"(1436509052.249713) can0 123#R8":                                                 entry(at, "can0", Frame{ID: 0x123, Kind: Remote, Length: 8}),
		"(1436509052.249713) can0 123#1122334455667788_E":                                 entry(at, "can0", Frame{ID: 0x123}, 0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77, 0x88),
		"(1436509052.249713) can0 20000080#0000":                                          entry(at, "can0", Frame{ID: 0x80, Kind: Fault}, 0, 0),
		"(1436509052.249713) can0 19F21123##1103E":                                        entry(at, "can0", Frame{ID: 0x19F21123, Extended: true, Kind: FD, Flags: 1}, 0x10, 0x3E),
		" (1436509052.249713)  can0  18FEFC23   [2]  FF 4B":                               entry(at, "can0", Frame{ID: 0x18FEFC23, Extended: true}, 0xFF, 0x4B),
		"(1436509052.249713)  can0  RX - -  18FEFC23   [2]  FF 4B   '.K'":                 entry(at, "can0", Frame{ID: 0x18FEFC23, Extended: true}, 0xFF, 0x4B),
		"(1436509052.249713)  vcan2       123   [8]  remote request":                      entry(at, "vcan2", Frame{ID: 0x123, Kind: Remote, Length: 8}),
		"(1436509052.249713)  can0  20000004   [8]  00 10 00 00 00 00 00 00   ERRORFRAME": entry(at, "can0", Frame{ID: 4, Kind: Fault}, 0, 0x10, 0, 0, 0, 0, 0, 0),
		"(1436509052.249713)  can0  19F21123  [02]  10 3E":                                entry(at, "can0", Frame{ID: 0x19F21123, Extended: true, Kind: FD}, 0x10, 0x3E),
		"  can0  123   [0]":                                                               entry(time.Time{}, "can0", Frame{ID: 0x123}),
		"(000.000001) can0 123#":                                                          entry(time.Unix(0, 1000).UTC(), "can0", Frame{ID: 0x123}),
		"(1436509052) can0 123#":                                                          entry(time.Unix(1436509052, 0).UTC(), "can0", Frame{ID: 0x123}),
	} {
		var e Entry
		if err := e.parse([]byte(line)); err != nil || e != want {
			t.Errorf("%s:\n%+v, %v; expected\n%+v", line, e, err, want)
		}
	}
}

func TestBadLines(t *testing.T) {
	const at = "(1436509052.249713) can0 "
	for line, want := range map[string]error{
		"hello":                                  errNoFrame,
		"# a comment of five words":              errID,
		at + "18FEFC23":                          errNoFrame,
		at + "18FEFC23 FF4B":                     errNoFrame,
		at + "123#11 Q":                          errNoFrame,
		"(1436509052.249713 can0 123#":           errTime,
		"(x) can0 123#":                          errTime,
		"(1.x) can0 123#":                        errTime,
		"(99999999999999.0) can0 123#":           errTime,
		"(2026-05-03 12:00:00.25) can0 123#":     errZone,
		"(-1.0) can0 123#":                       errZone,
		at + "1234#":                             errID,
		at + "FFF#":                              errID,
		at + "12G#":                              errID,
		at + "FFFFFFFF#":                         errID,
		at + "60000080#":                         errID,
		at + "123#1":                             errData,
		at + "123#1G":                            errData,
		at + "123##":                             errData,
		at + "123#112233445566778899":            errTooMany,
		at + "123##0" + strings.Repeat("11", 65): errTooMany,
		at + "123#R9":                            errCount,
		at + " 123 [2] 11":                       errCount,
		at + " 123 [1] 11 22":                    errCount,
		at + " 123 [999] 11":                     errCount,
		at + " 123 [9] 1 2":                      errData,
	} {
		var e Entry
		if err := e.parse([]byte(line)); !errors.Is(err, want) {
			t.Errorf("%s: %+v, %v; expected %v", line, e, err, want)
		}
	}
}

func TestLogGoesOnAfterBadLines(t *testing.T) {
	log := NewLogReader(strings.NewReader("\r\n\n(1.0) can0 001#01\r\ngarbage\n" + strings.Repeat("x", 3*longestLine) + "\n" +
		strings.Repeat("y", 200_000) + "\n(2.0) can0 002#02\n\n(3.0) can1 003#03"))
	var got []string
	for {
		e, err := log.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		var bad *LineError
		switch {
		case errors.As(err, &bad):
			if len(bad.Text) > longestLine {
				t.Errorf("%d bytes kept", len(bad.Text))
			}
			got = append(got, bad.Error())
		case err != nil:
			t.Fatal(err)
		default:
			got = append(got, e.Interface+" "+string(e.Frame.Text()))
		}
	}
	want := "can0 001#01; line 4: line without a frame; line 5: line too long; line 6: line too long; can0 002#02; can1 003#03"
	if s := strings.Join(got, "; "); s != want {
		t.Errorf("%s\nexpected\n%s", s, want)
	}
	if _, err := NewLogReader(io.MultiReader(strings.NewReader("(1.0) can0"), broken{})).Next(); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("%v; expected that of the stream", err)
	}
}

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, io.ErrClosedPipe }

// Every frame that there can be comes back from a line of a log.
func TestLogBackAndForth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := Entry{Time: time.UnixMicro(rapid.Int64Range(0, 4e15).Draw(t, "time")).UTC(), Interface: rapid.StringMatching(`[a-z]{1,6}[0-9]{1,2}`).Draw(t, "interface")}
		e.Frame.Kind = Kind(rapid.IntRange(0, 3).Draw(t, "kind"))
		e.Frame.Extended = e.Frame.Kind != Fault && rapid.Bool().Draw(t, "extended")
		most := 8
		switch e.Frame.Kind {
		case FD:
			most, e.Frame.Flags = 64, uint8(rapid.IntRange(0, 15).Draw(t, "flags"))
		}
		if id := rapid.Uint32Range(0, mostExtendedID).Draw(t, "id"); e.Frame.Extended || e.Frame.Kind == Fault {
			e.Frame.ID = id
		} else {
			e.Frame.ID = id & mostID
		}
		e.Frame.Length = uint8(rapid.IntRange(0, most).Draw(t, "length"))
		if e.Frame.Kind != Remote {
			copy(e.Frame.Data[:], rapid.SliceOfN(rapid.Byte(), int(e.Frame.Length), int(e.Frame.Length)).Draw(t, "data"))
		}
		line := AppendEntry(nil, &e)
		back, err := NewLogReader(bytes.NewReader(line)).Next()
		if err != nil || *back != e {
			t.Fatalf("%s%+v, %v; expected\n%+v", line, back, err, e)
		}
	})
}

func FuzzLog(f *testing.F) {
	f.Add([]byte("(1436509052.249713) can0 18FEFC23#FF4BFFFFFFFF7DFF\n (1.0)  can0  123   [8]  remote request\n"))
	f.Add([]byte("(1.0) can0 123##1AA\r\n(1.0) can0 20000080#00\n  can0  TX B E  123   [1]  00   '.'\n123#R8\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		log := NewLogReader(bytes.NewReader(text))
		for n := 0; ; n++ {
			e, err := log.Next()
			var bad *LineError
			switch {
			case errors.As(err, &bad):
				continue
			case err != nil:
				if !errors.Is(err, io.EOF) || n > len(text) {
					t.Fatal(n, err)
				}
				return
			}
			if e.Frame.Kind != FD && e.Frame.Length > 8 || e.Frame.Length > 64 || e.Frame.ID > mostExtendedID {
				t.Fatalf("%+v", e)
			}
			again := *e
			again.Time = again.Time.Truncate(time.Microsecond)
			if again.Time.IsZero() {
				continue
			}
			var back Entry
			if err := back.parse(AppendEntry(nil, &again)); err != nil || back != again {
				t.Fatalf("%+v, %v; expected %+v", back, err, again)
			}
		}
	})
}
