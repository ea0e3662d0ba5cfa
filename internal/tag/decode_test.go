package tag_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/tag"
)

// The job of the example comes back as it was, field for field.
func TestRestored(t *testing.T) {
	c, err := tag.Encode(example(), "gas")
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Notes) != 0 {
		t.Errorf("notes %q, want none", c.Notes)
	}
	got, err := tag.Decode(c.Text)
	if err != nil {
		t.Fatal(err)
	}
	if want := example(); !reflect.DeepEqual(got, want) {
		a, _ := json.MarshalIndent(got, "", " ")
		b, _ := json.MarshalIndent(want, "", " ")
		t.Errorf("came back as\n%s\nwant\n%s", a, b)
	}
	again, err := tag.Encode(got, "")
	if err != nil || again.Text != c.Text {
		t.Errorf("encoded again: %q, %v; want %q", again.Text, err, c.Text)
	}
}

// What a telephone, a mail or a person does to a text on the way is put up with.
func TestPasted(t *testing.T) {
	c, err := tag.Encode(example(), "")
	if err != nil {
		t.Fatal(err)
	}
	broken := func(every int, with string) string {
		var b strings.Builder
		for i := 0; i < len(c.Text); i += every {
			b.WriteString(c.Text[i:min(i+every, len(c.Text))])
			b.WriteString(with)
		}
		return b.String()
	}
	// A mail breaks at a space and takes it for the break.
	i := strings.LastIndexByte(c.Text, ' ')
	if i < 0 {
		t.Fatal("the code has no space to break at")
	}
	for what, text := range map[string]string{
		"small letters":           strings.ToLower(c.Text),
		"white space around":      "\n\t " + c.Text + " \r\n",
		"lines":                   broken(40, "\n"),
		"lines of Windows":        broken(37, "\r\n"),
		"indented lines":          broken(10_000, "") + "\n",
		"broken at a space":       c.Text[:i] + "\n" + c.Text[i+1:],
		"broken behind a space":   c.Text[:i+1] + "\n   " + c.Text[i+1:],
		"spaces that don't break": strings.ReplaceAll(c.Text, " ", "\u00a0"),
		"a mark of byte order":    "\ufeff" + c.Text,
	} {
		if j, err := tag.Decode(text); err != nil {
			t.Errorf("%s: %v", what, err)
		} else if j.Tanks[0].Name != "Gas" {
			t.Errorf("%s: tank %q", what, j.Tanks[0].Name)
		}
	}
}

// Each way in which a text can be no code has a message of its own.
func TestDecodeRefuses(t *testing.T) {
	c, err := tag.Encode(example(), "")
	if err != nil {
		t.Fatal(err)
	}
	changed := []byte(c.Text)
	changed[60] = 'A' + (changed[60]-'A'+1)%26
	for text, says := range map[string]string{
		"":                               "there is no text",
		" \n ":                           "there is no text",
		"hello":                          "is not a printed code",
		"https://example.org/?q=1":       "is not a printed code",
		"GW:" + c.Text[4:]:               "is not a printed code",
		"GW1" + c.Text[4:]:               "is not a printed code",
		"GW2:" + c.Text[4:]:              "of version 2, and this program reads version 1",
		"GW10:" + c.Text[4:]:             "of version 10",
		"GW1:":                           "ends after 4 signs",
		"GW1:BB8":                        "ends after 7 signs",
		c.Text[:50] + "é" + c.Text[50:]:  `"é" as its sign 51`,
		c.Text[:52]:                      "damaged or cut short",
		c.Text[:53]:                      "ends in the middle",
		string(changed):                  "damaged",
		c.Text + c.Text[4:]:              "damaged",
		"GW1:" + strings.Repeat(":", 30): "damaged at sign 5",
		strings.Repeat("A", 20_000):      "give the code alone",
	} {
		j, err := tag.Decode(text)
		if err == nil {
			t.Errorf("%q is read as %v", text, j)
		} else if !strings.Contains(err.Error(), says) {
			t.Errorf("%.40q: %q, want it to say %q", text, err, says)
		}
	}
}

// No sign can be lost or changed, and no two exchanged, without being noticed
// (for a burst of up to 32 bits that is what a CRC-32 is for).
func TestDamageIsNoticed(t *testing.T) {
	c, err := tag.Encode(example(), "")
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Text {
		other := byte('0')
		if c.Text[i] == other {
			other = '1'
		}
		for what, text := range map[string]string{
			"changed":   c.Text[:i] + string(other) + c.Text[i+1:],
			"left out":  c.Text[:i] + c.Text[i+1:],
			"cut there": c.Text[:i],
			"twice":     c.Text[:i] + c.Text[i:i+1] + c.Text[i:],
		} {
			if j, err := tag.Decode(text); err == nil && text != c.Text {
				t.Errorf("sign %d %s is read as %v", i+1, what, j)
			}
		}
	}
}

// Texts are cut to their places with a sign that says so, between characters.
func TestCut(t *testing.T) {
	j := example()
	j.Number = strings.Repeat("9", 300)
	j.Vehicle = strings.Repeat("Küchenwagen ", 20)
	j.Tanks[0].Name = strings.Repeat("Бак", 50)
	j.Tanks[0].Sender.Serial = "S" + strings.Repeat("⛽", 30)
	c, err := tag.Encode(j, "")
	if err != nil {
		t.Fatal(err)
	}
	got, err := tag.Decode(c.Text)
	if err != nil {
		t.Fatal(err)
	}
	for what, s := range map[string][2]string{
		"number":  {got.Number, "999999999999999999999…"},
		"vehicle": {got.Vehicle, "Küchenwagen Küchenwagen Kü…"},
		"tank":    {got.Tanks[0].Name, "БакБакБакБ…"},
		"serial":  {got.Tanks[0].Sender.Serial, "S⛽⛽⛽⛽⛽⛽…"},
	} {
		if s[0] != s[1] {
			t.Errorf("the %s is cut to %q, want %q", what, s[0], s[1])
		}
	}
	if len(c.Notes) != 4 {
		t.Errorf("notes %q, want four", c.Notes)
	}
}

// A tank for which there is nothing to print, or that isn't there, is refused
// with what to do.
func TestEncodeRefuses(t *testing.T) {
	bare := example()
	bare.Tanks[0].Setting, bare.Tanks[0].Sender.Known = nil, nil
	two := example()
	two.Tanks = append(two.Tanks, two.Tanks[0])
	two.Tanks[1].Name = "Water"
	for _, c := range []struct {
		job  *job.Job
		tank string
		says string
	}{
		{bare, "", "nothing is keyed in yet"},
		{two, "", "the job has 2 tanks"},
		{two, "Diesel", `no tank "Diesel"`},
		{&job.Job{Version: job.Version, Number: "1"}, "", "no tanks yet"},
	} {
		if _, err := tag.Encode(c.job, c.tank); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v, want it to say %q", err, c.says)
		}
	}
}

// For LPG nothing that breaks the rules of jobs goes into a code, so no code
// that this program makes could bring it back.
func TestGasRulesHold(t *testing.T) {
	for pct, fine := range map[float64]bool{80: true, 85: true, 85.1: false, 100: false} {
		j := example()
		j.Tanks[0].PermittedFillPct = pct
		c, err := tag.Encode(j, "")
		if (err == nil) != fine {
			t.Errorf("%g %%: %v", pct, err)
		}
		if err != nil && !strings.Contains(err.Error(), fmt.Sprint(job.MaxLPGFillPct)) {
			t.Errorf("%g %%: %v, want the limit in it", pct, err)
		}
		if err == nil {
			if got, err := tag.Decode(c.Text); err != nil || got.Tanks[0].PermittedFillPct != pct {
				t.Errorf("%g %% came back as %v, %v", pct, got, err)
			}
		}
	}
}
