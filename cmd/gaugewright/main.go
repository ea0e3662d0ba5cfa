// Command gaugewright finds out what a resistive level sender does, chooses
// the numbers to key into whatever reads it, proves the result and writes the
// handover record.
//
// Results go to standard output, progress and warnings to standard error. It
// exits 0 when done; 1 when done and the finding is bad (a check outside its
// tolerance, a broken sender); 2 when the input can't be used.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/alecthomas/kong"

	"gaugewright/internal/curve"
)

// verbs is every command; each has a file of its own.
type verbs struct {
	Curve  curveVerb  `cmd:"" help:"What the sender does: its curve, errors and claimed spans, from bench readings."`
	Span   spanVerb   `cmd:"" help:"What to key in: the best end values, table, or both, and what they will show."`
	Tank   tankVerb   `cmd:"" help:"The tank's shape: litres at a height, the height for litres, strapping tables, tilt."`
	Gas    gasVerb    `cmd:"" help:"Liquefied gas: litres, kilograms, pressure, heat, hours, and what to ask for at the pump."`
	Wire   wireVerb   `cmd:"" help:"What a run of wire adds to a sender, in ohms and in points of the level."`
	Input  inputVerb  `cmd:"" help:"An input of your own: the best pull-up for a converter, how well it knows the level, and a lookup table."`
	Bench  benchVerb  `cmd:"" help:"Take readings at a prompt; each is saved as it is typed."`
	Check  checkVerb  `cmd:"" help:"Check a display after setting: mark against what it shows."`
	Job    jobVerb    `cmd:"" help:"Keep a job: customer, tanks, readings, settings and checks in one file."`
	Type   typeVerb   `cmd:"" help:"Types of sender: gather units that were read in full, so that two or three readings tell the next one."`
	Lasts  lastsVerb  `cmd:"" help:"What is left in the tanks of a job, how long it lasts, and how much to fill in."`
	Replay replayVerb `cmd:"" help:"Play a recorded history through the watch: the level with its doubt, faults and gaps."`
	Docket docketVerb `cmd:"" help:"Learn from dockets of what was filled in: what the sender really shows, what the tank holds, which docket can't be right."`
	Record recordVerb `cmd:"" help:"Write the handover record of a job, as a page that prints or as a PDF."`
	Serve  serveVerb  `cmd:"" help:"The bench pages: take readings on a tablet, set, prove and hand over, over one data file."`
	Watch  watchVerb  `cmd:"" help:"Watch tanks: readings from MQTT, HTTP, Modbus, CAN, NMEA 0183 or a serial line, a level that can be believed out of them."`
	Token  tokenVerb  `cmd:"" help:"Links by which owners look, and tokens of programs, of a watch without pages for them."`
	Notify notifyVerb `cmd:"" help:"Send a test by the ways by which a watch tells people and programs of alarms."`
	Demo   demoVerb   `cmd:"" help:"The bench pages on invented jobs, with a simulated sender at hand; or one job told in the terminal."`

	Backup  backupVerb  `cmd:"" help:"Back up the workshop's jobs and a watch's readings into one file, while they are in use."`
	Restore restoreVerb `cmd:"" help:"Put a backup in place again, or look whether it is whole."`

	Simulate simulateVerb `cmd:"" help:"A made-up vehicle, or ten thousand, publishing over MQTT; or a history of one to try things on."`
}

// streams is where a verb reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// Exit statuses.
const (
	exitDone  = 0
	exitBad   = 1 // done, and what was found is bad
	exitInput = 2 // the input can't be used
)

// errBad ends a verb with exit status 1 after it has said everything itself.
var errBad = errors.New("the finding is bad")

func main() {
	os.Exit(run(os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr}))
}

// run carries out one command line and gives its exit status.
func run(args []string, s streams) (status int) {
	if len(args) == 0 {
		args = []string{"--help"}
	}
	var v verbs
	left := -1 // set when kong has printed help and wants to leave
	parser, err := kong.New(&v,
		kong.Name("gaugewright"),
		kong.Description("From bench readings of a level sender to numbers to key in, a proof, and a record.\n\nExits 0 when done, 1 when the finding is bad, 2 when the input can't be used."),
		kong.UsageOnError(),
		kong.Writers(s.out, s.err),
		kong.Exit(func(code int) { left = code }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}),
		kong.Bind(s),
		kong.NamedMapper("question", questions()),
		kong.WithHyphenPrefixedParameters(true), // an angle may be below zero
	)
	if err != nil {
		panic(err) // the grammar above is wrong
	}
	ctx, err := parser.Parse(args)
	if left >= 0 {
		return left
	}
	if err != nil {
		fmt.Fprintf(s.err, "gaugewright: %v\n", err)
		fmt.Fprintln(s.err, "see: gaugewright --help")
		return exitInput
	}
	err = ctx.Run()
	var sender *curve.SenderError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errBad):
		return exitBad
	case errors.As(err, &sender):
		fmt.Fprintf(s.err, "gaugewright: %s\n", err)
		return exitBad
	}
	for line := range strings.Lines(err.Error()) {
		fmt.Fprintf(s.err, "gaugewright: %s\n", strings.TrimRight(line, "\n"))
	}
	return exitInput
}
