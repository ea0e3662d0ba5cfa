package recording

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// powers are exact in floating point, which makes a number of up to 15 digits
// over one of them right to the last bit.
var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads a plain decimal number, with a comma for the point if it has one.
func number(cell []byte) (float64, bool) {
	var mantissa uint64
	i, negative := 0, false
	if len(cell) > 0 && (cell[0] == '-' || cell[0] == '+') {
		negative, i = cell[0] == '-', 1
	}
	start, point := i, -1
	for ; i < len(cell) && i < start+17; i++ {
		c := cell[i]
		if c-'0' <= 9 {
			mantissa = mantissa*10 + uint64(c-'0')
		} else if (c == '.' || c == ',') && point < 0 {
			point = i
		} else {
			return longNumber(cell)
		}
	}
	figures := i - start
	if point >= 0 {
		figures--
	}
	if i < len(cell) || figures == 0 || mantissa >= 1<<53 {
		return longNumber(cell)
	}
	v := float64(mantissa)
	if point >= 0 {
		v /= powers[i-point-1]
	}
	if negative {
		v = -v
	}
	return v, true
}

// longNumber reads what number doesn't: exponents, many digits.
func longNumber(cell []byte) (float64, bool) {
	const most = 64
	if len(cell) == 0 || len(cell) > most {
		return 0, false
	}
	for _, c := range cell {
		if !(c >= '0' && c <= '9' || c == '.' || c == ',' || c == '+' || c == '-' || c == 'e' || c == 'E') {
			return 0, false
		}
	}
	text := string(cell)
	if strings.Count(text, ",")+strings.Count(text, ".") > 1 {
		return 0, false // one of them groups the thousands, and which is a guess
	}
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil && math.IsInf(v, 0) {
		return v, true // a number, though too large to be held
	}
	return v, err == nil
}

// opens are what meters and programs write for an open circuit.
var opens = words("ol", "0l", "o.l", "0.l", ".ol", ".0l", "ofl", "inf", "+inf", "infinity", "+infinity", "∞", "overload", "over", "overflow", "open")

// nones are what they write for no value.
var nones = words("", "nan", "-nan", "na", "n/a", "#n/a", "null", "nil", "none", "-", "--", "---", "?", "-inf", "-infinity")

func words(list ...string) map[string]bool {
	m := make(map[string]bool, len(list))
	for _, w := range list {
		m[w] = true
	}
	return m
}

// noNumber says what a cell means that isn't a number.
func noNumber(cell []byte) (open, none bool) {
	const longest = 16
	if len(cell) > longest {
		return false, false
	}
	text := strings.ToLower(string(cell))
	return opens[text], nones[text]
}

// moment reads a time: RFC 3339, with a blank for the T or without an offset
// (then in UTC) as programs write it, or a number of seconds since 1970, or from
// 10¹¹ on of milliseconds.
//
// It is false where the cell is no time. A time that can't be held is given as
// the end that it lies beyond.
func moment(cell []byte) (ns int64, s Stamp, ok bool) {
	if len(cell) < 19 || cell[4] != '-' {
		return unix(cell)
	}
	if !(cell[7] == '-' && cell[13] == ':' && cell[16] == ':') {
		return 0, s, false
	}
	switch cell[10] {
	case 'T', 't':
	case ' ':
		s.form = spaced
	default:
		return 0, s, false
	}
	year, a := four(cell)
	month, b := two(cell[5:])
	day, c := two(cell[8:])
	hour, d := two(cell[11:])
	minute, e := two(cell[14:])
	second, f := two(cell[17:])
	if a || b || c || d || e || f || month < 1 || month > 12 || day < 1 || day > monthDays(year, month) || hour > 23 || minute > 59 || second > 60 {
		return 0, s, false
	}
	rest := cell[19:]
	var part int64
	if len(rest) > 0 && (rest[0] == '.' || rest[0] == ',') {
		n := 1
		scale := int64(1e8)
		for ; n < len(rest) && rest[n]-'0' <= 9; n++ {
			part += int64(rest[n]-'0') * scale
			scale /= 10
		}
		if n == 1 {
			return 0, s, false
		}
		s.digits = int8(min(n-1, 9))
		rest = rest[n:]
	}
	switch {
	case len(rest) == 0:
		s.form |= bare
	case len(rest) == 1 && (rest[0] == 'Z' || rest[0] == 'z'):
	case (len(rest) == 6 && rest[3] == ':' || len(rest) == 5) && (rest[0] == '+' || rest[0] == '-'):
		h, a := two(rest[1:])
		m, b := two(rest[len(rest)-2:])
		if a || b || h > 23 || m > 59 {
			return 0, s, false
		}
		s.form |= offset
		s.zone = int16(h*60 + m)
		if rest[0] == '-' {
			s.zone = -s.zone
		}
	default:
		return 0, s, false
	}
	at := daysOf(year, month, day)*86400 + hour*3600 + minute*60 + second - int64(s.zone)*60
	return held(at, part), s, true
}

// held puts seconds and ns together, held to what can be.
func held(second, ns int64) int64 {
	const most = math.MaxInt64/1_000_000_000 - 1
	return max(-most, min(most, second))*1e9 + ns
}

// unix reads a number of seconds or milliseconds since 1970. The seconds and
// their decimals are read apart, as a float can't hold them to a nanosecond.
func unix(cell []byte) (int64, Stamp, bool) {
	s := Stamp{form: seconds}
	whole := cell
	if i := bytes.IndexAny(cell, ".,"); i >= 0 {
		whole = cell[:i]
	}
	var second int64
	i := 0
	for ; i < len(whole) && i < 18 && whole[i]-'0' <= 9; i++ {
		second = second*10 + int64(whole[i]-'0')
	}
	if i < len(whole) || i == 0 {
		v, ok := longNumber(cell) // below 0, or with an exponent
		if !ok || math.Abs(v) > 1e17 {
			return 0, s, false
		}
		if math.Abs(v) >= fromMillis {
			s.form, v = millis, v/1e3
		}
		f := math.Floor(v)
		return held(int64(f), int64(math.Round((v-f)*1e6))*1e3), s, true
	}
	var part int64
	if len(cell) > len(whole)+1 {
		scale := int64(1e8)
		for _, c := range cell[len(whole)+1:] {
			if c-'0' > 9 {
				v, ok := longNumber(cell)
				if !ok {
					return 0, s, false
				}
				f := math.Floor(v)
				return held(int64(f), int64(math.Round((v-f)*1e6))*1e3), s, true
			}
			part += int64(c-'0') * scale
			scale /= 10
		}
		s.digits = int8(min(len(cell)-len(whole)-1, 9))
	}
	if second >= fromMillis {
		s.form = millis
		s.digits = min(s.digits, 6)
		return held(second/1000, second%1000*1e6+part/1000), s, true
	}
	return held(second, part), s, true
}

// fromMillis is the number from which on a time is taken to be in milliseconds:
// as seconds it would lie beyond the year 5000, as milliseconds before 1974.
const fromMillis = 100_000_000_000

func two(b []byte) (v int64, bad bool) {
	return int64(b[0]-'0')*10 + int64(b[1]-'0'), b[0]-'0' > 9 || b[1]-'0' > 9
}

func four(b []byte) (v int64, bad bool) {
	x, a := two(b)
	y, c := two(b[2:])
	return x*100 + y, a || c
}

func monthDays(year, month int64) int64 {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}
