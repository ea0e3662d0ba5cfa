package language

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	xnumber "golang.org/x/text/number"
)

// decimalOf gives what stands before the decimals in a language, as the CLDR
// has it.
func decimalOf(tag language.Tag) string {
	text := message.NewPrinter(tag).Sprint(xnumber.Decimal(1.5, xnumber.Scale(1)))
	if _, rest, ok := strings.Cut(text, "1"); ok {
		if sign, _, ok := strings.Cut(rest, "5"); ok && sign != "" {
			return sign
		}
	}
	return "." // its digits are others; those of the instruments stay
}

func digit(b byte) bool { return b >= '0' && b <= '9' }

// signs are what may stand before a figure and belongs to it.
var signs = []string{"+", "−", "-", "±"}

// numberAt gives how long the figure is that a text begins with; 0 where it
// begins with none.
func numberAt(s string) int {
	n := 0
	for _, sign := range signs {
		if strings.HasPrefix(s, sign) {
			n = len(sign)
			break
		}
	}
	begin := n
	for n < len(s) && digit(s[n]) {
		n++
	}
	if n == begin {
		return 0
	}
	if n+1 < len(s) && s[n] == '.' && digit(s[n+1]) {
		for n++; n < len(s) && digit(s[n]); n++ {
		}
	}
	if n+1 < len(s) && s[n] == '.' && digit(s[n+1]) && strings.Contains(s[begin:n], ".") {
		return 0 // an address, or the number of a clause
	}
	if n+2 < len(s) && s[n] == 'e' && (s[n+1] == '-' || s[n+1] == '+') && digit(s[n+2]) {
		for n += 2; n < len(s) && digit(s[n]); n++ {
		}
	}
	return n
}

var dateRule = regexp.MustCompile(`^[0-3]?[0-9] (?:January|February|March|April|May|June|July|August|September|October|November|December|Jan|Feb|Mar|Apr|Jun|Jul|Aug|Sep|Oct|Nov|Dec)(?: [0-9]{4})?(?:, [0-2][0-9]:[0-5][0-9](?: (?:[A-Z]{2,5}|[+-][0-9]{2,4}))?)?`)

// dateAt gives how long the date in words is that a text begins with.
func dateAt(s string) int {
	if s == "" || !digit(s[0]) {
		return 0
	}
	return len(dateRule.FindString(s))
}

// units are written alike in every language that has letters like these (the
// symbols of the SI Brochure, 9th edition, and those of trade).
var units = func() map[string]bool {
	set := map[string]bool{}
	for _, u := range strings.Fields("L mL kg g t lb mm cm m km in ft V mV A mA W kW kWh Wh MJ kJ J bar mbar Pa kPa hPa MPa psi K C F h min s ms Hz kHz Ω kΩ MΩ Ah US gal imp MB kB GB UTC AWG SHA e NE AIN") {
		set[u] = true
	}
	return set
}()

// moment is a day or a time as files have it (RFC 3339).
var moment = regexp.MustCompile(`^[0-9]{4}-[01][0-9]-[0-3][0-9](?:T[0-9:.]+(?:Z|[+-][0-9:]+))?$`)

// onlyFigures says whether nothing in a text is a word: figures, signs and the
// symbols of units.
func onlyFigures(text string) bool {
	if moment.MatchString(text) {
		return true
	}
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) || private(r) }) {
		// A clause has a letter after its number: "7.8.2.1 b, c".
		if clause := len(w) == 1 && w[0] >= 'a' && w[0] <= 'z' && digit(text[0]); !units[w] && !clause {
			return false
		}
	}
	return true
}

// designation is the number of a standard, with the clause in it where that is
// named ("ISA-18.2", "JCGM 106, 8.3"): it is a name, and no figure.
var designation = regexp.MustCompile(`\b(?:JCGM|ISO|IEC|ISO/IEC|ISA|OIML|DIN|EN|BS|ASTM|NIST|RFC|WCAG|ECE|UNECE)(?: R| TS| TR| EN| ISO| IEC)?[ -]?[0-9]+(?:[-:.][0-9]+)*(?:, [1-9][0-9]*(?:\.[0-9]+)+\b)?`)

// designations gives where designations stand in a text, each as begin and end.
func designations(text string) [][]int {
	if !strings.Contains(text, ".") {
		return nil
	}
	return designation.FindAllStringIndex(text, -1)
}

// named gives where the designation ends that a place in a text belongs to; 0
// where it belongs to none.
func named(list [][]int, at int) int {
	for _, d := range list {
		if at >= d[0] && at < d[1] {
			return d[1]
		}
	}
	return 0
}

// local writes every figure of a text with the language's own sign before the
// decimals. Names stay: what has several points, as addresses and versions have,
// and the designations of standards.
func (b *Book) local(text string) string {
	if b.decimal == "." || !strings.Contains(text, ".") {
		return text
	}
	var out strings.Builder
	names := designations(text)
	for i := 0; i < len(text); {
		if !digit(text[i]) {
			out.WriteByte(text[i])
			i++
			continue
		}
		if n := named(names, i); n > 0 {
			out.WriteString(text[i:n])
			i = n
			continue
		}
		k := i
		points := 0
		for k < len(text) && (digit(text[k]) || text[k] == '.' && k+1 < len(text) && digit(text[k+1])) {
			if text[k] == '.' {
				points++
			}
			k++
		}
		run := text[i:k]
		before, _ := utf8.DecodeLastRuneInString(text[:i])
		if points == 1 && !(i > 0 && (unicode.IsLetter(before) && before != 'e' || before == '_')) {
			run = strings.Replace(run, ".", b.decimal, 1)
		}
		out.WriteString(run)
		i = k
	}
	return out.String()
}
