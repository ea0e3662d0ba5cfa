package tag

import (
	"bytes"
	"testing"

	"pgregory.net/rapid"
)

// The examples of RFC 9285, 4.3 and 4.4.
func TestBase45Examples(t *testing.T) {
	for plain, text := range map[string]string{
		"AB":      "BB8",
		"Hello!!": "%69 VD92EX0",
		"base-45": "UJCLQE7W581",
		"ietf!":   "QED8WEX0",
		"":        "",
	} {
		if got := toBase45([]byte(plain)); got != text {
			t.Errorf("%q is written %q, want %q", plain, got, text)
		}
		if got, _, ok := fromBase45(text); !ok || string(got) != plain {
			t.Errorf("%q is read as %q, %v, want %q", text, got, ok, plain)
		}
	}
}

// What RFC 9285, 6 says must be refused: signs of no group, a group of one, and
// groups whose number is too large, of which it gives "GGW" as the least.
func TestBase45Refuses(t *testing.T) {
	for text, at := range map[string]int{
		"A":       0,
		"BB8A":    3,
		"GGW":     0,
		":::":     0,
		"BB8::":   3,
		"bb8":     0,
		"BB8BBé8": 5,
	} {
		_, place, ok := fromBase45(text)
		if ok || place != at {
			t.Errorf("%q: %v at %d, want it refused at %d", text, ok, place, at)
		}
	}
	if got, _, ok := fromBase45("U5"); !ok || !bytes.Equal(got, []byte{0xff}) {
		t.Errorf("U5 is read as %x, %v; 30 + 5 × 45 is 255", got, ok)
	}
	if got, _, ok := fromBase45("FGW"); !ok || !bytes.Equal(got, []byte{0xff, 0xff}) {
		t.Errorf("FGW is read as %x, %v; RFC 9285 gives it for 65535", got, ok)
	}
}

func TestBase45RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SliceOf(rapid.Byte()).Draw(t, "data")
		text := toBase45(data)
		got, _, ok := fromBase45(text)
		if !ok || !bytes.Equal(got, data) {
			t.Fatalf("%x came back from %q as %x", data, text, got)
		}
		if n := len(text); n > 0 && text[n-1] == ' ' {
			t.Fatalf("%q ends with a space, which whoever pastes it may lose", text)
		}
	})
}
