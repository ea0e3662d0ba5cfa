package readings

import (
	"encoding/csv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// respell writes a plain file in another of the forms that are read, with the
// writer of encoding/csv in place of the one under test.
func respell(t *rapid.T, plainText string) string {
	rows, err := csv.NewReader(strings.NewReader(plainText)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	separator := rapid.SampledFrom([]rune{',', ';', '\t'}).Draw(t, "separator")
	if rapid.Bool().Draw(t, "decimal comma") {
		for _, row := range rows[1:] {
			for i, name := range rows[0] {
				if name != noteColumn && name != timeColumn {
					row[i] = strings.Replace(row[i], ".", ",", 1)
				}
			}
		}
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	w.Comma = separator
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	text := strings.ReplaceAll(b.String(), "\n", rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "line end"))
	switch rapid.SampledFrom([]string{"UTF-8", "mark", "UTF-16", "Windows-1252"}).Draw(t, "encoding") {
	case "mark":
		return "\uFEFF" + text
	case "UTF-16":
		wide := []byte{0xFF, 0xFE}
		for _, u := range utf16.Encode([]rune(text)) {
			wide = append(wide, byte(u), byte(u>>8))
		}
		return string(wide)
	case "Windows-1252":
		// Some of it reads as well as UTF-8, and then is that: é€€ is 退, too.
		if spelt := strings.NewReplacer("é", "\xe9", "€", "\x80").Replace(text); !utf8.ValidString(spelt) {
			return spelt
		}
	}
	return text
}
