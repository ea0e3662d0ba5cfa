package quantity

import "strings"

// CutNumber parts the number that a text begins with from what is behind it: a
// sign, digits with at most one decimal sign of those given (".", "," or ".,"),
// which may lead, and an exponent; NR1, NR2 and NR3 of IEEE 488.2 (8.7.2 to
// 8.7.4, from memory) are such. The number is written with a decimal point, as
// [strconv.ParseFloat] reads it; what is behind it is trimmed. A text that begins
// with none gives "" and itself.
func CutNumber(text, decimals string) (number, rest string) {
	i, digits, decimal := signed(text, 0), 0, -1
	for ; i < len(text); i++ {
		if c := text[i]; c >= '0' && c <= '9' {
			digits++
		} else if decimal < 0 && strings.IndexByte(decimals, c) >= 0 {
			decimal = i
		} else {
			break
		}
	}
	if digits == 0 {
		return "", text
	}
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		from := signed(text, i+1)
		j := from
		for j < len(text) && text[j] >= '0' && text[j] <= '9' {
			j++
		}
		if j > from { // or else the E belongs to what is behind the number
			i = j
		}
	}
	number = text[:i]
	if decimal >= 0 && text[decimal] != '.' {
		number = number[:decimal] + "." + number[decimal+1:]
	}
	return number, strings.TrimSpace(text[i:])
}

// signed is where the text goes on behind a sign at i, if one is there.
func signed(text string, i int) int {
	if i < len(text) && (text[i] == '+' || text[i] == '-') {
		i++
	}
	return i
}
