package readings

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/curve"
)

func TestReadShown(t *testing.T) {
	tests := []struct {
		name, text string
		want       ShownSheet
	}{
		{"plain", "mark_pct,shown_pct\n0,0\n50,49.5\n", ShownSheet{curve.Dial, []Shown{{0, 0, 2, ""}, {0.5, 0.495, 3, ""}}}},
		{"a little over full", "mark_pct,shown_pct\n100,101\n100,110\n", ShownSheet{curve.Dial, []Shown{{1, 1.01, 2, ""}, {1, 1.1, 3, ""}}}},
		{"litres and a note", "# as left\r\nShown_pct;mark_l;note\r\n49,5;27;\"a;b\"\r\n", ShownSheet{curve.Volume, []Shown{{0.027, 0.495, 3, "a;b"}}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ReadShown(strings.NewReader(tt.text), "check.csv")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
			filed, err := ReadShownFile(put(t, tt.text))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, filed); diff != "" {
				t.Errorf("from a file (-want +got)\n%s", diff)
			}
		})
	}
}

func TestReadShownRefuses(t *testing.T) {
	const columns = "the columns are mark_pct (or mark_mm, mark_l or mark_kg), shown_pct and note"
	tests := []struct {
		name, text string
		want       []string
	}{
		{"empty", "", []string{" the file is empty; expected a header row such as mark_pct,shown_pct, and a row for each mark checked below it"}},
		{"header alone", "mark_pct,shown_pct\n", []string{"1:1: no row below the header row; expected a row for each mark checked, such as 50,49.5"}},
		{"readings in place of a check", "mark_pct,ohm\n50,95\n", []string{`1:10: column "ohm" is not known; rename it or delete it; ` + columns}},
		{"shown", "mark_pct,shown\n50,50\n", []string{`1:10: column "shown" is not known; rename it to shown_pct if that is what it holds, or delete it`}},
		{"no shown_pct", "mark_pct,note\n50,50\n", []string{"1:1: the header row has no shown_pct column; add it, such as mark_pct,shown_pct"}},
		{"too much and too little", "mark_pct,shown_pct\n50,110.1\n50,-0.1\n50,OL\n,\"\"\n50,\n50,51%\n", []string{
			"2:4: shown_pct 110.1 is outside 0 to 110; mend the number or leave the row out",
			"3:4: shown_pct -0.1 is outside 0 to 110; mend the number or leave the row out",
			`4:4: shown_pct "OL" is not a number; expected a plain number such as 42.5`,
			"6:4: shown_pct is empty; expected a plain number such as 42.5, or no row at all",
			`7:4: shown_pct "51%" has its unit with it; write the number alone, the unit is in the column name`}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ReadShown(strings.NewReader(tt.text), "check.csv")
			if err == nil {
				t.Fatal("accepted")
			}
			want := "check.csv:" + strings.Join(tt.want, "\ncheck.csv:")
			if err.Error() != want {
				t.Errorf("\ngot  %s\nwant %s", err, want)
			}
			checkErrors(t, tt.text, err)
		})
	}
}
