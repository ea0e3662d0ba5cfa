package readings_test

import (
	"fmt"
	"os"
	"strings"

	"gaugewright/internal/readings"
)

// A bench sheet from a spreadsheet with decimal commas, written plain.
func ExampleRead() {
	const typed = `# demo data, invented: travelling food stall Tidewater Kitchen
mark_pct;ohm;note
0;3,5;float on its stop
50;95,1;
100;188;
`
	sheet, err := readings.Read(strings.NewReader(typed), "stall.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := readings.Write(os.Stdout, sheet); err != nil {
		fmt.Println(err)
	}
	// Output:
	// mark_pct,ohm,note
	// 0,3.5,float on its stop
	// 50,95.1,
	// 100,188,
}

// All slips of one sheet are told at once, each with its place.
func ExampleRead_mistakes() {
	const typed = "mark_pct,ohm\n0,3.5\n50,4o.2\n140,188\n100,OL\n"
	_, err := readings.Read(strings.NewReader(typed), "stall.csv")
	fmt.Println(err)
	// Output:
	// stall.csv:3:4: ohm "4o.2" is not a number; expected a plain number such as 42.5
	// stall.csv:4:1: mark_pct 140 is outside 0 to 100; mend the number or leave the row out
	// stall.csv:5:5: ohm "OL" is the meter's overload, which means an open circuit; leave the row out or write it as a # comment
}
