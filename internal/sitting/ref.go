package sitting

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"gaugewright/internal/job"
)

// ErrGone says that a reading isn't on the bench any more, or isn't struck out
// any more: somebody else was quicker.
var ErrGone = errors.New("that reading is gone")

// Ref names reading i of a bench for a form: its place in the strip and a hash
// of what it says. It stays good while other readings are taken, struck out and
// put back, and names the same reading after it was struck out itself. i must be
// a reading of the bench, or Ref panics.
func Ref(t job.Tank, i int) string { return refTo(t.Bench, i, false) }

// StruckRef does for struck reading i what Ref does for one that stands.
func StruckRef(t job.Tank, i int) string { return refTo(t.Bench, i, true) }

// StripLine is one line of the paper strip of a bench.
type StripLine struct {
	job.Taken
	Ref          string // as Ref and StruckRef give it
	Reason, When string // of one that was struck out
	Doubt        string // what Doubtful says of one that stands
}

// Strip gives all readings of a bench, struck ones as well, in the order taken,
// with all that a strip shows of them.
func Strip(t job.Tank) []StripLine {
	doubts := Doubts(t)
	taken := t.Bench.Strip()
	out := make([]StripLine, len(taken))
	for i, l := range taken {
		out[i] = StripLine{Taken: l, Ref: refAt(i, l.Reading)}
		if l.Struck {
			out[i].Reason, out[i].When = t.Bench.Struck[l.Index].Reason, t.Bench.Struck[l.Index].When
		} else {
			out[i].Doubt = doubts[l.Index]
		}
	}
	return out
}

func refAt(place int, r job.Reading) string { return strconv.Itoa(place) + "-" + hashOf(r) }

// Find gives the reading that a reference names, as its index in the bench's
// readings. The error is [ErrGone], wrapped, where it was struck out or
// corrected, or was never there.
func Find(t job.Tank, ref string) (int, error) { return find(t.Bench, ref, false) }

// FindStruck gives the struck reading that a reference names, as its index in
// the bench's Struck.
func FindStruck(t job.Tank, ref string) (int, error) { return find(t.Bench, ref, true) }

func refTo(b job.Bench, i int, struck bool) string {
	for place, line := range b.Strip() {
		if line.Index == i && line.Struck == struck {
			return refAt(place, line.Reading)
		}
	}
	panic(fmt.Sprintf("sitting: no reading %d among %d, struck %v", i, len(b.Readings), struck))
}

// hashOf gives 10 letters for what a reading says. Two readings that say the
// same have the same, and are told apart by their places.
func hashOf(r job.Reading) string {
	text, err := json.Marshal(r)
	if err != nil { // a number that can't be in a file
		text = fmt.Appendf(nil, "%#v", r)
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:5])
}

// find looks for the line of the strip that says the same and stands nearest to
// the place where the reference has it: a correction moves those behind it by
// one. Of readings that say the very same, their times included, and of which one
// was corrected, it may find the wrong twin.
func find(b job.Bench, ref string, struck bool) (int, error) {
	at, hash, ok := strings.Cut(ref, "-")
	place, err := strconv.Atoi(at)
	if !ok || err != nil {
		return 0, fmt.Errorf("%w: %s names none", ErrGone, quoted(ref))
	}
	nearest, best := -1, job.Taken{}
	far := func(i int) int { return max(i-place, place-i) }
	for i, line := range b.Strip() {
		if (nearest < 0 || far(i) < far(nearest)) && hashOf(line.Reading) == hash {
			nearest, best = i, line
		}
	}
	switch {
	case nearest >= 0 && best.Struck == struck:
		return best.Index, nil
	case nearest >= 0 && struck:
		return 0, fmt.Errorf("%w from those struck out: it stands again", ErrGone)
	case nearest >= 0:
		return 0, fmt.Errorf("%w: it was struck out in the meantime%s", ErrGone, because(b.Struck[best.Index].Reason))
	}
	return 0, fmt.Errorf("%w: it isn't on this bench", ErrGone)
}

func because(reason string) string {
	if reason == "" {
		return ""
	}
	return " (" + reason + ")"
}
