package web

import (
	"strings"
	"testing"
)

// The words that the program writes into a job's history are said in German whole:
// those of the pages, and those of a shell that a file brought with it.
func TestHistoryWordsInGerman(t *testing.T) {
	_, b := german(t)
	v := b.Voice([]string{"Gas", "Grey tank", "Tidewater Kitchen", "food trailer", "2025-017", "A. Example", "long arm"})
	for text, want := range map[string]string{
		"started":                             "begonnen",
		"job begun":                           "Auftrag begonnen",
		"tank Gas put in, 12 readings":        "Tank Gas hinzugefügt, 12 Ablesungen",
		"tank Gas replaced, 1 reading":        "Tank Gas ersetzt, 1 Ablesung",
		"Gas: checked later, with 5 readings": "Gas: später geprüft, mit 5 Ablesungen",
		"Gas: checked as left, 3 of 3 within 2 points, 1 of them by less than the doubt": "",
		"Gas: key in 0 and 81":                                                              "",
		"Gas: key in 0.5 and 4.5 V, then a table of 3 entries":                              "Gas: 0,5 und 4,5 V, dann eine Tabelle mit 3 Einträgen eingeben",
		"Gas: key in a table of 5 entries":                                                  "Gas: Tabelle mit 5 Einträgen eingeben",
		"put back as it was after change 4":                                                 "",
		"tank described":                                                                    "",
		"shape from a tank file":                                                            "",
		"display at 40 % shows 41 %":                                                        "",
		"a look at the display taken out":                                                   "",
		"taken: 40 %, 36.2 Ω, going up":                                                     "abgelesen: 40 %, 36,2 Ω, aufwärts",
		"taken: 40 L, 36.2 Ω":                                                               "",
		"undone: 40 %, 36.2 Ω, going down":                                                  "",
		"struck out: 40 %, 36.1 Ω, going up":                                                "",
		"put back: 40 mm, 1.2 V":                                                            "",
		"corrected: 40 kg, 4.2 mA, going up":                                                "",
		"later check of 2 May 2027, taken: 40 %, 36.2 Ω, going up":                          "",
		"later check of 2 May 2027, as found, display at 40 % shows 41 %":                   "",
		"later check of 2 May 2027, how it was made":                                        "",
		"later check of 2 May 2027, taken out, as it has no readings":                       "",
		"later check of 2 May 2027, its readings are the bench from now on":                 "",
		"later check of a day that isn’t stated, struck out: 40 %, 36.1 Ω":                  "",
		"later check begun, 2 May 2027":                                                     "",
		"contents and loads described":                                                      "",
		"keyed in: 0 and 190 Ω":                                                             "",
		"keyed in: 0 and 190 Ω, then a table":                                               "",
		"keyed in: a table":                                                                 "",
		"how the bench is made: the facts of it":                                            "",
		"tank added: Grey tank":                                                             "",
		"tank removed: Gas":                                                                 "",
		"tank removed: Gas, with its bench readings (12)":                                   "",
		"facts kept: Tidewater Kitchen, food trailer, job 2025-017, 2025-11-05, A. Example": "",
		"facts kept: job 2025-017":                                                          "",
		"the sender begins from the type long arm":                                          "",
		"the sender is told by its own readings alone":                                      "",
		"long arm: 97 in 100.":                                                              "long arm: 97 von 100.",
		"long arm: more than 99 in 100.":                                                    "long arm: mehr als 99 von 100.",
		"None of these: less than 1 in 100.":                                                "",
	} {
		got, all := v.Say(text)
		t.Logf("%s = %s", text, got)
		if !all || got == text || want != "" && got != want {
			t.Errorf("%q is said as %q; expected %q", text, got, want)
		}
		if strings.Contains(got, " of ") {
			t.Errorf("%q is said as %q", text, got)
		}
	}
	for _, k := range benchMarks {
		if got, all := v.Say("how the bench is made: " + k.Name); !all {
			t.Errorf("%q is said as %q", k.Name, got)
		}
	}
}
