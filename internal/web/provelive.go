package web

import (
	"errors"
	"math"
	"net/http"
	"net/url"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
	"gaugewright/internal/telling"
	"gaugewright/internal/watch"
)

// proveLiveBody is the page on which a display is checked beside what a running
// watch reads of the same sender.
type proveLiveBody struct {
	proveBody
	Feed liveFeed
	Said string // what was taken last
}

// liveFeed is what a watch says of a tank now.
type liveFeed struct {
	Value, Unit string // what the sender gives: "61.3", "Ω"; "" where there is nothing
	Came        string // what came in, where that is something else: "2.5 V"
	Read        string // when
	Age         string
	Old         bool   // too old to hold a display against
	Steady      string // whether it stands still, in a sentence
	Stands      bool
	Display     string // what the display shows of that value, as it was set: "49.3"; "" where that can't be told
	Level       string // that the watch makes of it: "49.6 %"; "" where it shows none
	Between     string
	Status      string
	Take        string // the level as it would be taken: "49.6"
	Source      string
}

// proveLivePage shows the page.
func (s *Site) proveLivePage(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	s.left(r, kept, r.PathValue("n")+"/prove")
	q := r.URL.Query()
	b := proveLiveBody{proveBody: proveBody{Mark: q.Get("mark"), When: q.Get("when")}}
	return s.showLiveProof(w, r, kept, at, b, "")
}

// proveLiveNow is what the watch says now, for the page's script.
func (s *Site) proveLiveNow(w http.ResponseWriter, r *http.Request) error {
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	var b proveLiveBody
	b.Feed = s.liveFeed(r, kept, at)
	return s.showPart(w, "provelive", "read", b)
}

func (s *Site) showLiveProof(w http.ResponseWriter, r *http.Request, kept *job.Kept, at *tankAt, b proveLiveBody, fault string) error {
	s.proof(&b.proveBody, kept, at)
	if b.Live {
		b.Feed = s.liveFeed(r, kept, at)
	} else if b.Why == "" {
		b.Why = "No running watch reads this tank. Its display can be proved without one."
	}
	return s.show(w, r, view{Page: "provelive", Title: "Prove " + at.Name + " live", Job: kept, Tank: at, Fault: fault, Wide: true, Body: b})
}

// keepLiveLook takes one look at the display, or the level that the watch shows
// where the watch is itself the display.
func (s *Site) keepLiveLook(w http.ResponseWriter, r *http.Request) error {
	b := proveLiveBody{proveBody: lookTyped(r)}
	err := s.takeLive(r, &b)
	if err == nil {
		err = s.keepLook(r, b.proveBody)
	}
	if err == nil {
		return goTo(w, r, jobPath(job.ID(r.PathValue("id")))+"/"+r.PathValue("n")+"/prove/live?when="+url.QueryEscape(b.When))
	}
	var f *fault
	if !errors.As(err, &f) || f.status != http.StatusUnprocessableEntity {
		return err
	}
	kept, at, gone := s.tank(r)
	if gone != nil {
		return gone
	}
	return s.showLiveProof(w, r, kept, at, b, f.text)
}

// takeLive puts the level that the watch shows at this moment in the place of what
// a person would have typed, where that is asked for.
func (s *Site) takeLive(r *http.Request, b *proveLiveBody) error {
	if field(r, "take") != "watch" {
		return nil
	}
	kept, at, err := s.tank(r)
	if err != nil {
		return err
	}
	now := s.liveFeed(r, kept, at)
	if now.Take == "" {
		return refused("The watch shows no level of this tank now, so there is nothing to take. Wait until it does, or type what the display shows.")
	}
	b.Shown = now.Take
	return nil
}

// feedOf gives what a running watch says of a tank of a job; false where none has
// it.
func (s *Site) feedOf(kept *job.Kept, at *tankAt, now time.Time) (watch.Level, bool) {
	if s.o.Watch == nil || kept.Job.Number == "" {
		return watch.Level{}, false
	}
	for i, l := range s.o.Watch.Labels() {
		if l.Job != kept.Job.Number || l.JobTank != at.Name {
			continue
		}
		if levels := s.o.Watch.Levels(now); i < len(levels) {
			return levels[i], true
		}
	}
	return watch.Level{}, false
}

// liveFeed writes down what a running watch says of a tank of a job.
func (s *Site) liveFeed(r *http.Request, kept *job.Kept, at *tankAt) liveFeed {
	now := s.o.Now()
	v, ok := s.feedOf(kept, at, now)
	if !ok || v.Time.IsZero() {
		return liveFeed{Status: "No reading has come yet."}
	}
	ownIn(r.Context(), v.Source)
	f := liveFeed{Read: clockWords(v.Time, now), Age: ago(v.Age), Status: watchedStatus(v, now.Location()), Source: v.Source}
	state := s.feeds.add(string(kept.ID)+"/"+at.Name, v)
	f.Old = v.Age > feedSilence
	value, known := atDisplay(at.Signal(), v)
	if known {
		f.Value, f.Unit = quantity.Digits(value, signalDecimals(at.Signal())), at.Signal().Unit()
		f.Display = displayed(at.Tank, value)
	}
	if units := map[watch.Signal]string{watch.Volt: "V", watch.Count: "counts", watch.Percent: "%"}; v.Signal != watch.Ohm && finite(v.Raw) && units[v.Signal] != f.Unit {
		f.Came = quantity.Short(v.Raw, 3) + " " + units[v.Signal]
	}
	f.Stands = state == feedStands && !f.Old && known
	switch {
	case !known:
		f.Steady = "The last reading had no value."
	case f.Old:
		f.Steady = "It is too old to hold a display against. Wait for the next reading."
	case f.Stands:
		f.Steady = "It stands still."
	case state == feedMoves:
		f.Steady = "It is moving. Wait until it stands still."
	default:
		f.Steady = "Whether it stands still isn’t known yet. Look again in a moment."
	}
	if v.Shown && tellable(v) {
		f.Level, f.Between = sharePct(v.Share, v.U), betweenPct(v)
		f.Take = strings.ReplaceAll(strings.TrimSuffix(f.Level, " %"), "−", "-")
	}
	return f
}

// atDisplay gives what stands at the wires of the display, in what the sender gives:
// the reading as it came, where it is in that, or what the watch made of it.
func atDisplay(signal curve.Signal, v watch.Level) (float64, bool) {
	ohms := signal == curve.Ohms
	switch {
	case ohms == (v.Signal == watch.Ohm) && (ohms || v.Signal == watch.Volt):
		return v.Raw, finite(v.Raw)
	case ohms:
		return float64(v.Ohm), finite(float64(v.Ohm))
	}
	return math.NaN(), false
}

// displayed gives what the display shows of a value as it was set, in percent; ""
// where nothing was keyed in.
func displayed(t *job.Tank, value float64) string {
	var keyed span.Setting
	if t.Setting != nil {
		keyed, _ = t.Setting.Keyed()
	}
	if keyed == nil {
		return ""
	}
	return telling.Points(keyed.Show(quantity.Ohm(value)))
}

// signalDecimals is to how many decimals a live value is worth reading.
func signalDecimals(signal curve.Signal) int {
	if signal == curve.Ohms {
		return 1
	}
	return 3
}
