package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"

	"gaugewright/internal/app"
)

// board shows how a simulation stands: on a terminal a few lines that change in
// place above the line where orders are typed, elsewhere a line for each tank
// every second.
type board struct {
	out, err io.Writer
	live     bool // a terminal
	quiet    bool // only the result is wanted, as JSON

	mu    sync.Mutex
	drawn int // lines in place
}

func newBoard(s streams, quiet bool) *board {
	b := &board{out: s.out, err: s.err, quiet: quiet}
	f, ok := s.out.(*os.File)
	b.live = ok && !quiet && term.IsTerminal(int(f.Fd()))
	return b
}

// begin says what is simulated.
func (b *board) begin(lines []string) {
	to := b.out
	if b.quiet {
		to = b.err
	}
	for _, line := range lines {
		lead, text := leadOf(line)
		writeWrapped(to, lead, text)
	}
}

// leadOf parts a line in what stands before its text, and its text.
func leadOf(line string) (lead, text string) {
	text = strings.TrimPrefix(strings.TrimLeft(line, " "), "- ")
	return line[:len(line)-len(text)], text
}

// say puts a line of news out. It may be called while the simulation is busy, so
// it asks it nothing.
func (b *board) say(line string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.clear()
	fmt.Fprintln(b.err, line)
}

// answer puts out what became of an order.
func (b *board) answer(line string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.live {
		// The order was typed below the lines in place, and its end began a line.
		b.drawn = 0
	}
	switch {
	case line == "":
	case b.quiet:
		fmt.Fprintln(b.err, line)
	default:
		fmt.Fprintln(b.out, line)
	}
}

// clear takes the lines in place away.
func (b *board) clear() {
	if b.drawn > 0 {
		fmt.Fprintf(b.out, "\r\x1b[%dA\x1b[J", b.drawn)
		b.drawn = 0
	}
}

// follow shows how it stands until the context ends.
func (b *board) follow(ctx context.Context, sim *app.Simulation) {
	if b.quiet {
		return
	}
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			b.show(sim.Standing())
		}
	}
}

// show puts out how it stands.
func (b *board) show(s app.Standing) {
	lines := standing(s)
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.live {
		for _, line := range lines {
			fmt.Fprintln(b.out, line)
		}
		return
	}
	if b.drawn == len(lines) {
		// In place, with what is being typed left where it is.
		fmt.Fprintf(b.out, "\x1b7\r\x1b[%dA", b.drawn)
		for _, line := range lines {
			fmt.Fprintf(b.out, "\x1b[2K%s\r\n", line)
		}
		fmt.Fprint(b.out, "\x1b8")
		return
	}
	for _, line := range lines {
		fmt.Fprintln(b.out, line)
	}
	fmt.Fprint(b.out, "> ")
	b.drawn = len(lines)
}

// standing puts it into lines: one a tank, and one for the whole.
func standing(s app.Standing) (lines []string) {
	at := s.Now.UTC().Format("15:04:05")
	for _, t := range s.Tanks {
		state := ""
		for _, f := range t.State.Faults {
			state += ", " + f.String()
		}
		lines = append(lines, fmt.Sprintf("%s %-12s %12s   true %5.1f %%%s", at, t.Name, t.Ohm(), 100*float64(t.State.True), state))
	}
	return append(lines, fmt.Sprintf("%s %s, speed %g: %s", at, s.Way, s.Speed, tally(s)))
}

// tally says what became of the readings.
func tally(s app.Standing) string {
	text := fmt.Sprintf("%d acknowledged, %d waiting", s.Counts.Acknowledged, s.Counts.Waiting)
	if s.Counts.Denied > 0 {
		text += fmt.Sprintf(", %d denied by the broker", s.Counts.Denied)
	}
	const most = 5
	for i, tank := range slices.Sorted(maps.Keys(s.Counts.Dropped)) {
		if i == most {
			return text + fmt.Sprintf(", and of %d other tanks", len(s.Counts.Dropped)-most)
		}
		text += fmt.Sprintf(", %d of %s dropped", s.Counts.Dropped[tank], tank)
	}
	return text
}

// simulatedResult is what became of it all, as JSON has it.
type simulatedResult struct {
	Given        uint64            `json:"given"`
	Acknowledged uint64            `json:"acknowledged"`
	Denied       uint64            `json:"denied"`
	Unsent       int               `json:"unsent"`
	Dropped      map[string]uint64 `json:"dropped"`
	ForS         float64           `json:"for_s"`
}

// end says what became of it all; readings that never arrived are a bad finding.
func (b *board) end(s app.Standing) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.quiet {
		r := simulatedResult{s.Given, s.Counts.Acknowledged, s.Counts.Denied, s.Counts.Waiting, s.Counts.Dropped, s.Elapsed.Seconds()}
		if err := writeJSON(b.out, r); err != nil {
			return err
		}
	} else {
		b.clear()
		fmt.Fprintf(b.out, "Ended after %v of the vehicle's time: %d readings, %s.\n", s.Elapsed, s.Given, tally(s))
	}
	if s.Counts.Waiting > 0 || s.Counts.Denied > 0 || len(s.Counts.Dropped) > 0 {
		return errBad
	}
	return nil
}
