package strict

import (
	"strings"
	"testing"
)

// Cases by the sections of RFC 8259 (the texts of section 13 from memory).
func TestWellFormed(t *testing.T) {
	for _, c := range []struct{ section, text, want string }{
		{"13, first", `{"Image": {"Width":  800,"Height": 600,"Title":  "View from 15th Floor","Thumbnail": {"Url":"http://www.example.com/image/481989943","Height": 125,"Width":  100},"Animated" : false,"IDs": [116, 943, 234, 38793]}}`, ""},
		{"13, values", "[\n\"Hello world!\", 42, true]", ""},
		{"2, any value may stand alone", "  \t\r\n42 ", ""},
		{"3, literals", "[true,false,null]", ""},
		{"4, an empty name", `{"":1}`, ""},
		{"6, numbers", "[0,-0,0.5,-1.25e+3,1E-2]", ""},
		{"7, escapes", `"\"\\\/\b\f\n\r\t\uD834\uDD1E"`, ""},

		{"2, blanks are few", "{\u00a0}", `f:1:2: found the sign U+00A0, expected a field's name in double quotes`},
		{"3, literals in small letters", `[True]`, `f:1:2: found T, expected a value: a number, text in double quotes, a list or an object`},
		{"3, no others", `{"a":NaN}`, `f:1:6: found N, expected a value: a number, text in double quotes, a list or an object`},
		{"3, cut", `{"a":nul}`, `f:1:9: found } in a word; the only words without quotes are true, false and null`},
		{"4, names in quotes", `{a:1}`, `f:1:2: found a, expected a field's name in double quotes`},
		{"4, double quotes", `{'a':1}`, `f:1:2: found ', expected a field's name in double quotes; JSON has no other quotes than "`},
		{"4, a comma too many", "{\n\t\"a\":1,\n}", `f:3:1: found }, expected a field's name in double quotes; a comma stands too many before it`},
		{"4, no comma", `{"a":1 "b":2}`, `f:1:8: found ", expected a comma before the next field, or } after the last`},
		{"4, no colon", `{"a" 1}`, `f:1:6: found 1, expected a colon after the field's name`},
		{"5, a comma too many", `[1,]`, `f:1:4: found ], expected a value: a number, text in double quotes, a list or an object; a comma stands too many before it`},
		{"5, no comma", `[1 2]`, `f:1:4: found 2, expected a comma before the next entry, or ] after the last`},
		{"6, zeros before", `{"a":012}`, `f:1:7: found 1, expected a comma before the next field, or } after the last; a number has no zeros before it`},
		{"6, no digit before", `[.5]`, `f:1:2: found ., expected a value: a number, text in double quotes, a list or an object; a number has a digit before its point`},
		{"6, no digit after", `[5.]`, `f:1:4: found ], expected a digit after the decimal point`},
		{"6, no plus", `[+1]`, `f:1:2: found +, expected a value: a number, text in double quotes, a list or an object`},
		{"6, minus alone", `[-]`, `f:1:3: found ], expected a digit after the minus sign`},
		{"6, exponent alone", `[1e]`, `f:1:4: found ], expected a digit in the exponent`},
		{"6, comma", `{"a":12,5}`, `f:1:9: found 5, expected a field's name in double quotes; a number has a decimal point, not a comma`},
		{"7, line break", "[\"é\ny\"]", `f:1:4: found a line break inside text; a line break is written \n, a tab \t`},
		{"7, tab", "[\"\t\"]", `f:1:3: found a tab inside text; a line break is written \n, a tab \t`},
		{"7, escape", `["C:\x"]`, `f:1:6: found x after a backslash inside text; a backslash itself is written \\`},
		{"7, digits", `["\u12g4"]`, `f:1:7: found g, expected four hexadecimal digits after \u`},
		{"7, other quotes", `[“x”]`, `f:1:2: found “, expected a value: a number, text in double quotes, a list or an object; JSON has no other quotes than "`},
		{"no comments", "// job\n{}", `f:1:1: found /, expected a value: a number, text in double quotes, a list or an object; JSON has no comments: use a note field`},
		{"one value", "{}\n{}", `f:2:1: found { after the end of the job; delete what follows it`},
		{"cut in a word", `[tru`, `f:1:5: the file ends here, in the middle of the job; it was cut short, take a copy that is whole`},
		{"cut in an escape", `["\`, `f:1:4: the file ends here, in the middle of the job; it was cut short, take a copy that is whole`},
		{"cut in a number", `[-`, `f:1:3: the file ends here, in the middle of the job; it was cut short, take a copy that is whole`},
	} {
		err := jobs.wellFormed("f", []byte(c.text))
		if found := strings.TrimPrefix(errText(err), "<nil>"); found != c.want {
			t.Errorf("section %s: %q\nfound    %s\nexpected %s", c.section, c.text, found, c.want)
		}
	}
}

func errText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// Escapes as in RFC 6901, sections 3 and 5.
func TestPointer(t *testing.T) {
	for _, c := range []struct {
		path []string
		want string
	}{
		{nil, ""},
		{[]string{"foo", "0"}, "/foo/0"},
		{[]string{""}, "/"},
		{[]string{"a/b"}, "/a~1b"},
		{[]string{"m~n"}, "/m~0n"},
		{[]string{"~1"}, "/~01"},
		{[]string{"a\nb"}, `/a\nb`}, // a message is one line
	} {
		if found := Pointer(c.path); found != c.want {
			t.Errorf("%q: found %s, expected %s", c.path, found, c.want)
		}
	}
}
