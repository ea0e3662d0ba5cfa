package modbus

import (
	"bytes"
	"encoding/hex"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"gaugewright/internal/watch"
	"pgregory.net/rapid"
)

func raw(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func meant(t testing.TB, r Read) meaning {
	t.Helper()
	m, key, err := r.meaning()
	if err != nil {
		t.Fatalf("%s: %v", key, err)
	}
	return m
}

// The bytes of 123.456, 87.5 and 240.0 as IEEE 754 binary32, worked out by
// another program (Python's struct), in the four orders.
func TestFloatOrders(t *testing.T) {
	for _, c := range []struct{ order, a, b, c string }{
		{"ABCD", "42F6 E979", "42AF 0000", "4370 0000"},
		{"CDAB", "E979 42F6", "0000 42AF", "0000 4370"},
		{"BADC", "F642 79E9", "AF42 0000", "7043 0000"},
		{"DCBA", "79E9 F642", "0000 AF42", "0000 7043"},
	} {
		m := meant(t, Read{Format: "float32", Order: c.order})
		for text, want := range map[string]float64{c.a: float64(float32(123.456)), c.b: 87.5, c.c: 240} {
			if v, said, why := m.value(raw(t, text)); v != want || said != watch.Measured || why != "" {
				t.Errorf("%s as %s: %v, %v, %q; want %v", text, c.order, v, said, why, want)
			}
		}
	}
	// 87.5 sent ABCD and read CDAB is nearly nothing.
	if v, _, _ := meant(t, Read{Format: "float32", Order: "CDAB"}).value(raw(t, "42AF 0000")); math.Abs(v-2.392e-41) > 1e-44 {
		t.Errorf("%v, want 2.392e-41", v)
	}
}

// Two's complement, and float64 by IEEE 754: 123.456 is 0x405EDD2F1A9FBE77
// (Python's struct).
func TestValues(t *testing.T) {
	ten, thousand := 10.0, 1000.0
	for _, c := range []struct {
		name  string
		read  Read
		bytes string
		value float64
		said  watch.Said
		why   string
	}{
		{"uint16", Read{}, "04A0", 1184, watch.Measured, ""},
		{"uint16, tenths", Read{Scale: 0.1}, "04A0", 118.4, watch.Measured, ""},
		{"uint16, bytes swapped", Read{Order: "BA"}, "A004", 1184, watch.Measured, ""},
		{"int16", Read{Format: "int16"}, "FFFE", -2, watch.Measured, ""},
		{"uint32", Read{Format: "uint32", Order: "ABCD"}, "0001 86A0", 100000, watch.Measured, ""},
		{"uint32, low word first", Read{Format: "uint32", Order: "CDAB"}, "86A0 0001", 100000, watch.Measured, ""},
		{"int32", Read{Format: "int32", Order: "DCBA"}, "FEFF FFFF", -2, watch.Measured, ""},
		{"float64", Read{Format: "float64", Order: "ABCD"}, "405E DD2F 1A9F BE77", 123.456, watch.Measured, ""},
		{"float64, low word first", Read{Format: "float64", Order: "CDAB"}, "BE77 1A9F DD2F 405E", 123.456, watch.Measured, ""},
		{"float64, all bytes reversed", Read{Format: "float64", Order: "DCBA"}, "77BE 9F1A 2FDD 5E40", 123.456, watch.Measured, ""},
		{"4 to 20 mA in microamps as percent", Read{Signal: "level_pct", Scale: 100.0 / 16000, Offset: -25}, "2EE0", 50, watch.Measured, ""},
		{"no value", Read{None: []int64{0xFFFF, 0x8000}}, "FFFF", 0, watch.Unavailable, ""},
		{"no value as a signed number", Read{Format: "int16", None: []int64{-1}}, "FFFF", 0, watch.Unavailable, ""},
		{"no value as bits", Read{Format: "int16", None: []int64{0x8000}}, "8000", 0, watch.Unavailable, ""},
		{"no value as a float", Read{Format: "float32", Order: "ABCD", None: []int64{-9999}}, "C61C 3C00", 0, watch.Unavailable, ""},
		{"not a number", Read{Format: "float32", Order: "ABCD"}, "7FC0 0000", 0, watch.Unavailable, ""},
		{"infinite ohms", Read{Format: "float32", Order: "ABCD"}, "7F80 0000", openCircuit, watch.Measured, ""},
		{"infinite ohms, and no such number", Read{Format: "float32", Order: "ABCD", Greatest: &thousand}, "7F80 0000", openCircuit, watch.Measured, ""},
		{"infinite volts", Read{Format: "float32", Order: "ABCD", Signal: "volt"}, "7F80 0000", 0, watch.Unavailable, ""},
		{"less than nothing", Read{Format: "float32", Order: "ABCD"}, "FF80 0000", 0, watch.Unavailable, ""},
		{"below", Read{Least: &ten}, "0009", 0, watch.Unavailable, "below least"},
		{"at the bound", Read{Least: &ten}, "000A", 10, watch.Measured, ""},
		{"above", Read{Greatest: &thousand}, "03E9", 0, watch.Unavailable, "above greatest"},
	} {
		v, said, why := meant(t, c.read).value(raw(t, c.bytes))
		if math.Abs(v-c.value) > 1e-9*max(1, math.Abs(c.value)) || said != c.said || why != c.why {
			t.Errorf("%s: %s is %v, %v, %q; want %v, %v, %q", c.name, c.bytes, v, said, why, c.value, c.said, c.why)
		}
	}
}

// Any number is found again, whichever way its bytes were put.
func TestOrdersLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float32().Draw(t, "value")
		o := rapid.SampledFrom(orders).Draw(t, "order")
		b := math.Float32bits(want)
		letters := map[byte]byte{'A': byte(b >> 24), 'B': byte(b >> 16), 'C': byte(b >> 8), 'D': byte(b)}
		var registers []byte
		for i := range 4 { // what an order's name says, by itself
			registers = append(registers, letters[o.name[i]])
		}
		if got := o.bits(registers); got != uint64(b) {
			t.Fatalf("% x as %s is %x, want %x", registers, o.name, got, b)
		}
	})
}

// The CRC's check value, and frames worked out by another program.
func TestFrames(t *testing.T) {
	if c := crc([]byte("123456789")); c != 0x4B37 {
		t.Errorf("CRC %04X, want 4B37", c)
	}
	for want, got := range map[string][]byte{
		"01 03 00 00 00 01 84 0A":             rtuRequest(1, readHolding, 0, 1),
		"01 04 00 00 00 02 71 CB":             rtuRequest(1, readInput, 0, 2),
		"00 07 00 00 00 06 11 03 00 6B 00 03": tcpRequest(7, 17, readHolding, 0x6B, 3), // the specification's example of function 3, from memory
	} {
		if !bytes.Equal(got, raw(t, want)) {
			t.Errorf("% X, want %s", got, want)
		}
	}
	for _, c := range []struct {
		name, got string
		count     uint16
		data      string
		whole     bool
		err       error
	}{
		{"123.456", "01 03 04 42 F6 E9 79 80 0B", 2, "42F6E979", true, nil},
		{"an exception", "01 83 02 C0 F1", 2, "", true, exception(2)},
		{"half a frame", "01 03 04 42 F6 E9 79 80", 2, "", false, nil},
		{"noise before it", "00 FF 01 03 04 42 F6 E9 79 80 0B", 2, "42F6E979", true, nil},
		{"the echo of the question before it", "01 03 00 00 00 02 C4 0B 01 03 04 42 F6 E9 79 80 0B", 2, "42F6E979", true, nil},
		{"a flipped bit", "01 03 04 42 F7 E9 79 80 0B", 2, "", false, nil},
		{"of another unit", "02 83 02 30 F1", 2, "", false, nil},
		{"of another length", "01 03 04 42 F6 E9 79 80 0B", 1, "", false, nil},
	} {
		data, whole, err := rtuAnswer(raw(t, c.got), 1, readHolding, c.count)
		if !bytes.Equal(data, raw(t, c.data)) || whole != c.whole || err != c.err {
			t.Errorf("%s: % X, %v, %v", c.name, data, whole, err)
		}
	}
}

func TestTCPAnswers(t *testing.T) {
	for _, c := range []struct {
		frame, data string
		ours        bool
		why         string
	}{
		{"0007 0000 0007 01 03 04 42F6E979", "42F6E979", true, ""},
		{"0007 0000 0003 01 83 02", "", true, "illegal data address"},
		{"0007 0000 0003 FF 83 0B", "", true, "gateway target didn't answer"},
		{"0006 0000 0007 01 03 04 42F6E979", "", false, ""},
		{"0007 0000 0007 02 03 04 42F6E979", "", true, "an answer of another unit"},
		{"0007 0000 0007 01 04 04 42F6E979", "", true, "an answer of another function"},
		{"0007 0000 0005 01 03 02 42F6", "", true, "an answer of another length"},
		{"0007 0000 0007 01 03 02 42F6E979", "", true, "an answer of another length"},
		{"0007 0001 0007 01 03 04 42F6E979", "", false, "not Modbus TCP"},
		{"0007 0000 0002 01 03", "", false, "a frame of impossible length"},
		{"0007 0000 0100 01 03", "", false, "a frame of impossible length"},
	} {
		b := raw(t, c.frame)
		n, err := tcpFrame(b)
		var data []byte
		var ours bool
		if err == nil {
			if n != len(b) {
				t.Errorf("%s: a frame of %d bytes, want %d", c.frame, n, len(b))
				continue
			}
			data, ours, err = tcpAnswer(b, 7, 1, readHolding, 2)
		}
		if !bytes.Equal(data, raw(t, c.data)) || ours != c.ours || (err == nil) != (c.why == "") || err != nil && !strings.HasPrefix(err.Error(), c.why) {
			t.Errorf("%s: % X, %v, %v; want %q", c.frame, data, ours, err, c.why)
		}
		for short := range b {
			if n, err := tcpFrame(b[:short]); n != 0 && err == nil {
				t.Errorf("%s: the first %d bytes count as a frame", c.frame, short)
			}
		}
	}
}

// Neighbours are read together, up to 125 registers and over small gaps, and
// every item is in exactly one request, whole.
func TestPlanLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		items := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) item {
			i := item{unit: rapid.ByteRange(1, 3).Draw(t, "unit"), function: rapid.ByteRange(3, 4).Draw(t, "function")}
			i.meaning.format = rapid.SampledFrom(formats).Draw(t, "format")
			i.address = uint16(rapid.IntRange(0, 400).Draw(t, "address"))
			return i
		}), 1, 40).Draw(t, "items")
		n := 0
		for _, q := range plan(items) {
			if q.count < 1 || q.count > mostRegisters {
				t.Fatalf("%d registers", q.count)
			}
			used := make([]bool, q.count)
			for _, i := range q.items {
				if n++; i.unit != q.unit || i.function != q.function || i.address < q.address || i.end() > int(q.address)+int(q.count) {
					t.Fatalf("%+v isn't in %+v", i, q)
				}
				for a := int(i.address); a < i.end(); a++ {
					used[a-int(q.address)] = true
				}
			}
			gap := 0
			for _, u := range used {
				if gap++; u {
					gap = 0
				}
				if gap > mostGap {
					t.Fatalf("a gap of more than %d registers in %+v", mostGap, q)
				}
			}
		}
		if n != len(items) {
			t.Fatalf("%d items asked for, of %d", n, len(items))
		}
	})
}

func TestPlan(t *testing.T) {
	at := func(unit, function byte, address uint16, name string) item {
		i := item{unit: unit, function: function, address: address}
		i.meaning.format = formats[slices.IndexFunc(formats, func(f format) bool { return f.name == name })]
		return i
	}
	var got [][3]uint16
	for _, q := range plan([]item{
		at(2, 3, 0, "uint16"), at(1, 3, 10, "float32"), at(1, 3, 0, "uint16"), at(1, 3, 1, "uint16"),
		at(1, 4, 2, "uint16"), at(1, 3, 21, "uint16"), at(1, 3, 120, "uint16"), at(1, 3, 128, "float32"),
	}) {
		got = append(got, [3]uint16{uint16(q.unit)<<8 | uint16(q.function), q.address, q.count})
	}
	want := [][3]uint16{{0x203, 0, 1}, {0x103, 0, 12}, {0x103, 21, 1}, {0x103, 120, 10}, {0x104, 2, 1}}
	if !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

func FuzzValue(f *testing.F) {
	f.Add([]byte{0x42, 0xF6, 0xE9, 0x79}, "float32", "ABCD", 1.0, 0.0)
	f.Add([]byte{0xFF, 0xFF}, "int16", "BA", 0.1, -40.0)
	f.Fuzz(func(t *testing.T, registers []byte, format, order string, scale, offset float64) {
		m, _, err := Read{Format: format, Order: order, Scale: scale, Offset: offset}.meaning()
		if err != nil || len(registers) < 2*m.format.words {
			return
		}
		v, said, why := m.value(registers[:2*m.format.words])
		if math.IsNaN(v) || math.IsInf(v, 0) || said != watch.Measured && v != 0 || why != "" && said == watch.Measured {
			t.Errorf("%v, %v, %q", v, said, why)
		}
	})
}

func FuzzFrames(f *testing.F) {
	f.Add([]byte("\x01\x03\x04\x42\xF6\xE9\x79\x80\x0B"), uint16(2))
	f.Add([]byte("\x01\x83\x00\x41\x30"), uint16(1))
	f.Add([]byte("\x00\x01\x00\x00\x00\x05\x01\x03\x02\x04\xA0"), uint16(1))
	f.Fuzz(func(t *testing.T, got []byte, count uint16) {
		count = count%mostRegisters + 1
		if data, whole, err := rtuAnswer(got, 1, readHolding, count); whole && err == nil && len(data) != 2*int(count) {
			t.Errorf("%d bytes for %d registers", len(data), count)
		}
		n, err := tcpFrame(got)
		if err != nil || n == 0 {
			return
		}
		data, ours, err := tcpAnswer(got[:n], 1, 1, readHolding, count)
		if ours && err == nil && len(data) != 2*int(count) {
			t.Errorf("%d bytes for %d registers", len(data), count)
		}
		var e exception
		if errors.As(err, &e) && (e.Error() == "" || e.remedy() == "") {
			t.Error("an exception without words")
		}
	})
}

func BenchmarkValue(b *testing.B) {
	m := meant(b, Read{Format: "float32", Order: "CDAB", None: []int64{0xFFFF}})
	registers := raw(b, "E979 42F6")
	b.ReportAllocs()
	for b.Loop() {
		m.value(registers)
	}
}
