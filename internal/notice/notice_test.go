package notice

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var noon = time.Date(2025, 11, 3, 12, 0, 0, 0, time.UTC)

func leak() Notice {
	return Notice{ID: "leak-1", Time: noon, Kind: "leak", Priority: Critical, Tank: "gas", Label: "Gas", Title: "Gas: it may leak",
		Text: "Gas falls by 0.4 L an hour with everything off.", Cautions: []string{"Shut the valve at the tank, air the room, keep fire away."}}
}

// Words are held as a whole: they are what somebody reads at three in the morning.
func TestWords(t *testing.T) {
	zone := time.FixedZone("", 3600)
	for name, c := range map[string]struct {
		w   Waiting
		now time.Time
		say []string
	}{
		"at once": {Waiting{Notice: leak(), Queued: noon}, noon.Add(3 * time.Second), []string{
			"Gas falls by 0.4 L an hour with everything off.",
			"That was on 3 November 2025 at 13:00:00 (UTC+01:00).",
			"Shut the valve at the tank, air the room, keep fire away."}},
		"after an outage": {Waiting{Notice: leak(), Queued: noon, Tries: 9, Unreached: true}, noon.Add(50 * time.Hour), []string{
			"Gas falls by 0.4 L an hour with everything off.",
			"That was on 3 November 2025 at 13:00:00 (UTC+01:00). This comes 2 days late: it couldn't be sent before: nobody was reached.",
			"Shut the valve at the tank, air the room, keep fire away."}},
		"the readings came late": {Waiting{Notice: leak(), Queued: noon.Add(3 * time.Hour)}, noon.Add(3*time.Hour + time.Minute), []string{
			"Gas falls by 0.4 L an hour with everything off.",
			"That was on 3 November 2025 at 13:00:00 (UTC+01:00). This comes 3 hours late: the readings that show it came late.",
			"Shut the valve at the tank, air the room, keep fire away."}},
	} {
		t.Run(name, func(t *testing.T) {
			m := Words(c.w, c.now, zone)
			if got, want := strings.Join(m.Paragraphs, "\n"), strings.Join(c.say, "\n"); got != want {
				t.Errorf("it says\n%s\nexpected\n%s", got, want)
			}
			if m.Subject != "Gas: it may leak" {
				t.Errorf("the subject is %q", m.Subject)
			}
		})
	}
	n := leak()
	n.Again, n.Title = 2, "Gas: it\r\nBcc: someone@example.org\x00 may leak"
	m := Words(Waiting{Notice: n, Queued: noon}, noon, time.UTC)
	if m.Subject != "Again: Gas: it Bcc: someone@example.org may leak" {
		t.Errorf("the subject is %q; expected one line", m.Subject)
	}
}

func TestCheck(t *testing.T) {
	if err := leak().Check(); err != nil {
		t.Error(err)
	}
	for name, change := range map[string]func(*Notice){
		"no ID": func(n *Notice) { n.ID = "" }, "an ID with a line": func(n *Notice) { n.ID = "a\r\nb" },
		"an ID of other letters": func(n *Notice) { n.ID = "ä" }, "no time": func(n *Notice) { n.Time = time.Time{} },
		"no title": func(n *Notice) { n.Title = "" }, "a long text": func(n *Notice) { n.Text = strings.Repeat("a", mostText+1) },
	} {
		n := leak()
		if change(&n); n.Check() == nil {
			t.Errorf("%s: it is taken", name)
		}
	}
}

// A pause is between three quarters of the doubled one and all of it, at most an hour,
// and the same for the same seed.
func TestPauseLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id, tries, seed := rapid.String().Draw(t, "id"), rapid.IntRange(1, 1000).Draw(t, "tries"), rapid.Uint64().Draw(t, "seed")
		full := Usual.Most
		if tries < 9 {
			full = min(full, Usual.First<<(tries-1))
		}
		got := Usual.Pause(id, "mail/a", tries, seed)
		if got > full || got < full*3/4 {
			t.Errorf("after %d tries %v; expected %v to %v", tries, got, full*3/4, full)
		}
		if again := Usual.Pause(id, "mail/a", tries, seed); again != got {
			t.Errorf("%v, then %v", got, again)
		}
	})
}

// Whatever happens, a notice is delivered, waits for a try that comes, or is given up:
// it never stands without any of these.
func TestAfterLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Waiting{Notice: leak(), Way: "mail/a", Queued: noon}
		now := noon
		for range rapid.IntRange(1, 200).Draw(t, "tries") {
			var err error
			switch rapid.IntRange(0, 20).Draw(t, "what") {
			case 0:
			case 1:
				err = Permanently(errors.New("no such mailbox"))
			case 2, 3, 4:
				err = &Failure{Err: errors.New("busy"), After: rapid.SampledFrom([]time.Duration{0, time.Minute, 100 * time.Hour}).Draw(t, "after")}
			default:
				err = fmt.Errorf("the way: %w", Unreached(errors.New("no route")))
			}
			w = Usual.After(w, now, err, 7)
			states := 0
			for _, at := range []time.Time{w.Next, w.Done, w.Dead} {
				if !at.IsZero() {
					states++
				}
			}
			if states != 1 || (err == nil) != !w.Done.IsZero() {
				t.Fatalf("after %v it stands as %+v", err, w)
			}
			if w.Next.IsZero() {
				return
			}
			if pause := w.Next.Sub(now); pause < Usual.First*3/4 || pause > Usual.Longest {
				t.Fatalf("the pause is %v", pause)
			}
			now = w.Next
		}
	})
}

func TestGivenUp(t *testing.T) {
	until := func(err error) (time.Duration, int) {
		w, now := Waiting{Notice: leak(), Way: "hook/a", Queued: noon}, noon
		for w.Dead.IsZero() {
			w = Usual.After(w, now, err, 1)
			if w.Dead.IsZero() {
				now = w.Next
			}
		}
		return now.Sub(noon), w.Tries
	}
	if d, n := until(errors.New("later")); d < 72*time.Hour || d > 73*time.Hour || n < 70 {
		t.Errorf("where it isn't taken it is given up after %v and %d tries; expected three days", d, n)
	}
	if d, _ := until(Unreached(errors.New("no network"))); d < 30*24*time.Hour || d > 30*24*time.Hour+time.Hour {
		t.Errorf("where nobody is reached it is given up after %v; expected thirty days", d)
	}
	w, now := Waiting{Notice: leak(), Way: "hook/a", Queued: noon}, noon
	for range 50 {
		w = Usual.After(w, now, Unreached(errors.New("no network")), 1)
		if w.Next.Sub(now) > 10*time.Minute {
			t.Fatalf("after %d tries the pause is %v; once there is a network again it is to be sent within ten minutes", w.Tries, w.Next.Sub(now))
		}
		now = w.Next
	}
	if d, n := until(Permanently(errors.New("no"))); d != 0 || n != 1 {
		t.Errorf("for good: %v, %d tries", d, n)
	}
	// The clock went ahead by years after the start: nothing is given up by that alone.
	w = Usual.After(Waiting{Notice: leak(), Queued: time.Unix(0, 0), Tries: 3}, noon, errors.New("later"), 1)
	if !w.Dead.IsZero() {
		t.Error("given up because the clock was set")
	}
	// It was set back: the next try isn't years away.
	if due := Usual.Due(Waiting{Next: noon.AddDate(3, 0, 0)}, noon); due.Sub(noon) > 6*time.Hour {
		t.Errorf("tried only at %v", due)
	}
}

// In any span of time no more go through than the burst and one for each Every; critical
// ones go beside.
func TestGateLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Rate{Burst: rapid.IntRange(1, 5).Draw(t, "burst"), Every: time.Minute}
		g := NewGate(r)
		now, went := noon, 0
		for range rapid.IntRange(1, 100).Draw(t, "times") {
			now = now.Add(time.Duration(rapid.IntRange(0, 90).Draw(t, "s")) * time.Second)
			wait := g.Wait(Low, now)
			if wait == 0 {
				went++
			} else if wait > r.Every+time.Millisecond {
				t.Fatalf("it has to wait for %v", wait)
			}
			if most := r.Burst + int(now.Sub(noon)/r.Every) + 1; went > most {
				t.Fatalf("%d went through by %v; expected %d at the most", went, now.Sub(noon), most)
			}
		}
		if g.Wait(Critical, now) != 0 {
			t.Fatal("a critical one has to wait for others")
		}
	})
}
