package doors_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/internal/doors"
)

// cheap is for tests, which check many.
var cheap = doors.Cost{Memory: 64, Passes: 1, Lanes: 1}

// The hashes are those of the argon2 program of Argon2's authors (Debian package
// argon2, 0~20171227). The vector of RFC 9106, 5.3 has a secret and associated
// data, which pass phrases don't.
func TestPhraseOfTheReferenceProgram(t *testing.T) {
	for _, text := range []string{
		"$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHQxNmJ5dGVzIQ$Kk0yq4igEKTF3GzwH+JY1/o04VNTJAhwwKQWq7snvFA",
		"$argon2id$v=19$m=64,t=3,p=2$c29tZXNhbHQxNmJ5dGVzIQ$KZWsCDNSgNF78I1wtlBfLgy4DrMz2fjjAaV/eihzbhI",
	} {
		p, err := doors.ReadPhrase(text)
		if err != nil {
			t.Fatal(err)
		}
		if p.String() != text {
			t.Errorf("read and written again it is %s; expected %s", p, text)
		}
		if !p.Opens("four words of ours") {
			t.Errorf("%s doesn't open to its pass phrase", text)
		}
		if p.Opens("four words of yours") {
			t.Errorf("%s opens to another", text)
		}
	}
}

// The cost is at least what OWASP's Password Storage Cheat Sheet asks of Argon2id:
// 19 MiB, two passes, one lane.
func TestPhraseCost(t *testing.T) {
	if u := doors.Usual; u.Memory < 19*1024 || u.Passes < 2 || u.Lanes < 1 {
		t.Errorf("the usual cost is %s; expected m=19456,t=2,p=1 or more", u)
	}
}

// What was kept before, by PBKDF2, is still read. The hash is what Python's
// hashlib.pbkdf2_hmac gave, which is OpenSSL's.
func TestPhraseOfBefore(t *testing.T) {
	p, err := doors.ReadPhrase(python)
	if err != nil {
		t.Fatal(err)
	}
	if !p.Opens("four words of ours") || p.Opens("four words of yours") {
		t.Error("a pass phrase that was kept by PBKDF2 isn't told from another")
	}
	// RFC 7914, 11: "Password", "NaCl" and 80,000 rounds; the first 32 of its 64
	// bytes, as PBKDF2 makes them block by block.
	rfc, err := doors.ReadPhrase("pbkdf2-sha256$80000$TmFDbA$TdzY9guYviGDDO5e8icB+WQaRBjQTAQUrv8Ih2s0q1Y")
	if err != nil || !rfc.Opens("Password") {
		t.Errorf("the vector of RFC 7914: %v", err)
	}
	if !p.Old(doors.Usual) || p.String() != python {
		t.Errorf("it is %s; expected it to be old, and written as it was", p)
	}
}

func TestPhraseNew(t *testing.T) {
	p, err := doors.NewPhrase("four words of ours", cheap)
	if err != nil {
		t.Fatal(err)
	}
	again, err := doors.NewPhrase("four words of ours", cheap)
	if err != nil {
		t.Fatal(err)
	}
	if p.String() == again.String() || p.Mark() == again.Mark() {
		t.Error("the same pass phrase is kept alike twice; expected a salt of its own each time")
	}
	if !strings.HasPrefix(p.String(), "$argon2id$v=19$m=64,t=1,p=1$") || strings.Contains(p.String()+p.Mark(), "four words") {
		t.Errorf("it is kept as %s", p)
	}
	if p.Old(cheap) || !p.Old(doors.Usual) {
		t.Error("one of less cost is old and one of the same isn't; found otherwise")
	}
	var none doors.Phrase
	if none.Opens("") || none.Set() || none.String() != "" {
		t.Error("no pass phrase opens to something")
	}
}

func TestPhraseRefused(t *testing.T) {
	for _, text := range []string{"", "fourteen signs", strings.Repeat("ä", doors.LeastPhrase-1), strings.Repeat("x", doors.MostPhrase+1),
		"aaaaaaaaaaaaaaaaaaaa", "123456789012345678", "Passwort-passwort", "gaugewright gaugewright", "qwertzuiopasdfghj", "correct horse battery staple"} {
		if _, err := doors.NewPhrase(text, cheap); err == nil {
			t.Errorf("%.30q is taken for a pass phrase", text)
		}
	}
	for _, text := range []string{"fifteen letters", strings.Repeat("ä", doors.LeastPhrase-5) + "bcdef", "   spaces count too", "日本語でもいいですかはいどうぞお願いします"} {
		if _, err := doors.NewPhrase(text, cheap); err != nil {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// What a file says is never worked at for long, whatever it says.
func TestPhraseBounded(t *testing.T) {
	const end = "$c29tZXNhbHQxNmJ5dGVzIQ$Kk0yq4igEKTF3GzwH+JY1/o04VNTJAhwwKQWq7snvFA"
	for _, text := range []string{"", "$", "x", "$argon2id$v=19$m=4194304,t=2,p=1" + end, "$argon2id$v=19$m=64,t=4000,p=1" + end, "$argon2id$v=19$m=64,t=1,p=200" + end,
		"$argon2id$v=19$m=0,t=0,p=0" + end, "$argon2id$v=19$m=8,t=1,p=2" + end, "$argon2id$v=16$m=64,t=1,p=1" + end, "$argon2i$v=19$m=64,t=1,p=1" + end,
		"$argon2id$v=19$m=64,t=1,p=1,keyid=1" + end, "$argon2id$v=19$m=064,t=1,p=1" + end, "$argon2id$v=19$m=64,t=1,p=1$$", "$argon2id$v=19$m=64,t=1,p=1" + end + "$",
		"pbkdf2-sha256$0" + end, "pbkdf2-sha256$999999999" + end, "pbkdf2-sha256$x" + end} {
		if p, err := doors.ReadPhrase(text); err == nil {
			t.Errorf("%q is read as %s", text, p)
		}
	}
}

func FuzzReadPhrase(f *testing.F) {
	f.Add("$argon2id$v=19$m=64,t=3,p=2$c29tZXNhbHQxNmJ5dGVzIQ$KZWsCDNSgNF78I1wtlBfLgy4DrMz2fjjAaV/eihzbhI")
	f.Add(python)
	f.Fuzz(func(t *testing.T, text string) {
		if p, err := doors.ReadPhrase(text); err == nil && p.String() != text && !strings.Contains(text, "pbkdf2") {
			t.Errorf("%q is written again as %q", text, p)
		}
	})
}

// Any pass phrase that is taken opens what was kept of it, and nothing else does.
func TestPhraseLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringN(doors.LeastPhrase, 60, -1).Draw(t, "text")
		other := rapid.String().Draw(t, "other")
		p, err := doors.NewPhrase(text, doors.Cost{Memory: 8, Passes: 1, Lanes: 1})
		if err != nil {
			t.Skip(err)
		}
		p, err = doors.ReadPhrase(p.String())
		if err != nil {
			t.Fatal(err)
		}
		if !p.Opens(text) || p.Opens(other) != (other == text) {
			t.Fatalf("%q: opens to itself %v, to %q %v", text, p.Opens(text), other, p.Opens(other))
		}
	})
}

func BenchmarkPhraseOpens(b *testing.B) {
	p, err := doors.NewPhrase("four words of ours", doors.Usual)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		p.Opens("four words of yours")
	}
}

// python is what Python 3.11's hashlib.pbkdf2_hmac gave.
const python = "pbkdf2-sha256$1000$c29tZXNhbHQxNmJ5dGVzIQ$7nOwJZVuHFh7TJ5YP4D3AweD0OOUpuKuBUr6rVuHzBk"
