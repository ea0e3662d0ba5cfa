package station

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"sync"
	"time"

	"gaugewright/internal/api"
	"gaugewright/internal/feed"
	"gaugewright/internal/flow"
	"gaugewright/internal/outlook"
	"gaugewright/internal/watch"
	"gaugewright/internal/web"
)

// Programs see a station, or anything else that the pages show, through these.

// ForPrograms gives what is shown on pages to programs. Of a [Station] it tells
// how its disk fares as well.
func ForPrograms(w web.Watched) api.Watch {
	if w == nil {
		return nil
	}
	return programs{w}
}

type programs struct{ web.Watched }

// Tanks says what each tank is.
func (p programs) Tanks() []api.TankAbout {
	labels := p.Labels()
	out := make([]api.TankAbout, len(labels))
	for i, l := range labels {
		out[i] = api.TankAbout{Name: l.Tank, Label: l.Label, Contents: l.Contents, Sentence: l.Sentence, Permitted: l.Permitted, Cautions: l.Cautions, Job: l.Job, JobTank: l.JobTank}
		if n := len(l.Volumes); n > 0 {
			out[i].Capacity = l.Volumes[n-1]
		}
	}
	return out
}

// Feeds says how each feed stands, and of a station what came in by the API.
func (p programs) Feeds() []api.FeedState {
	var out []api.FeedState
	for _, f := range p.Watched.Feeds() {
		out = append(out, api.FeedState{Name: f.Name, Up: f.Up, Where: f.Where, Since: f.Since, Why: f.Why, Again: f.Again, Taken: f.Taken, Refused: tallies(f.Refused)})
	}
	if s, ok := p.Watched.(*Station); ok {
		if f := s.postedState(); f.Taken > 0 || len(f.Refused) > 0 {
			out = append(out, f)
		}
	}
	return out
}

// Flows answers for what came in and went out.
func (p programs) Flows() api.Flows {
	if f := p.Watched.Flows(); f != nil {
		return programFlows{f}
	}
	return nil
}

type programFlows struct{ from web.Flows }

func (p programFlows) Outlooks(now time.Time) []outlook.Outlook { return p.from.Outlooks(now) }

func (p programFlows) Flows(ctx context.Context, tank string, from, to time.Time, most int, kinds ...flow.Kind) ([]flow.Event, error) {
	return p.from.Flows(ctx, tank, from, to, most, kinds...)
}

// Uses says what is known of the use.
func (p programFlows) Uses() []api.Use {
	var out []api.Use
	for _, u := range p.from.Uses() {
		out = append(out, api.Use{Days: u.Days, ByHour: u.ByHour, ByWeekday: u.ByWeekday, Full: float64(u.Full), FullMass: u.FullMass})
	}
	return out
}

// Standing says how the watch itself stands.
func (p programs) Standing() api.WatchState {
	w := p.Watched.Standing()
	out := api.WatchState{Started: w.Started, Failing: w.Failing, Since: w.Since, Waiting: w.Waiting, Lost: tallies(w.Lost), Notes: w.Notes, Bytes: -1}
	if s, ok := p.Watched.(*Station); ok {
		state := s.intake.State()
		out.Kept, out.Failed = state.Kept, state.Failed
		out.Bytes, out.Commits = storeBytes(s.store.Path()), s.timed.commits()
	}
	return out
}

func tallies(list []web.FeedCount) []api.Tally {
	var out []api.Tally
	for _, c := range list {
		out = append(out, api.Tally{Why: c.Why, N: c.N})
	}
	return out
}

// storeBytes is the size of a file of readings and what belongs to it; -1 where
// that can't be told.
func storeBytes(path string) int64 {
	sum := int64(-1)
	for _, ending := range []string{"", "-wal", "-shm"} {
		if info, err := os.Stat(path + ending); err == nil {
			sum = max(sum, 0) + info.Size()
		}
	}
	return sum
}

// timedKeeper keeps readings and notes how long it took.
type timedKeeper struct {
	Keeper
	mu   sync.Mutex
	took api.Commits
}

// Keep keeps readings.
func (k *timedKeeper) Keep(readings []watch.Reading) error {
	begun := time.Now()
	err := k.Keeper.Keep(readings)
	k.mu.Lock()
	defer k.mu.Unlock()
	k.took.Add(time.Since(begun))
	return err
}

func (k *timedKeeper) commits() api.Commits {
	k.mu.Lock()
	defer k.mu.Unlock()
	out := k.took
	out.Below = append([]uint64(nil), out.Below...)
	return out
}

// postedSource is the source of readings that come in by the API.
const postedSource = "api"

// Post keeps the readings of a payload that a program sent, as [feed.Decode] has
// it, and comes back when they are on disk.
func (s *Station) Post(ctx context.Context, tank string, payload []byte) (int, error) {
	if !s.knows(tank) {
		s.intake.Refused(postedSource, feed.NoSuchTank, payload)
		return 0, &api.Refusal{Status: http.StatusNotFound, Detail: fmt.Sprintf("No tank is called %q.", tank)}
	}
	readings, err := feed.Decode(nil, payload, feed.Defaults{
		Tank: tank, Source: postedSource, Signal: s.signal(tank), Arrived: s.o.Now(),
		Doubted: func(why string) { s.intake.Refused(postedSource, why, payload) },
	})
	if err != nil {
		no := &api.Refusal{Status: http.StatusBadRequest, Detail: err.Error()}
		why := feed.NotJSON
		var refusal *feed.Refusal
		if errors.As(err, &refusal) {
			why = refusal.Why()
		}
		if why == feed.TooMany || why == feed.TooLong {
			no.Status = http.StatusRequestEntityTooLarge
		}
		s.intake.Refused(postedSource, why, payload)
		return 0, no
	}
	if err := s.intake.Take(ctx, readings); err != nil {
		s.o.Log.Warn("readings that a program sent weren't kept", "n", len(readings), "error", err)
		return 0, &api.Refusal{Status: http.StatusServiceUnavailable, Again: 5 * time.Second,
			Detail: "The readings couldn't be kept on disk. Send them again later: what was kept all the same counts once."}
	}
	return len(readings), nil
}

// postedState is how what comes in by the API stands, as a feed.
func (s *Station) postedState() api.FeedState {
	f := fed{FeedState: web.FeedState{Name: postedSource}}
	out := api.FeedState{Name: postedSource, Up: true, Where: api.Path}
	for _, r := range s.intake.Refusals() {
		if f.brought(r.Source) {
			out.Refused = append(out.Refused, api.Tally{Why: r.Why, N: r.N})
		}
	}
	s.counting.Lock()
	defer s.counting.Unlock()
	for source, n := range s.taken {
		if f.brought(source) {
			out.Taken += n
		}
	}
	return out
}

// Backfill keeps and watches readings of a time before the station was started, as
// if they had come in then, and writes the levels that came of those before. It comes
// back when they are on disk. Call it before Start, with readings in their order.
func (s *Station) Backfill(ctx context.Context, readings []watch.Reading) error {
	if err := s.intake.Take(ctx, readings); err != nil {
		return err
	}
	return s.seal(ctx)
}

// Broker is where the broker inside listens, "127.0.0.1:1883"; "" where there is
// none.
func (s *Station) Broker() string {
	for _, f := range s.feeds {
		if at, ok := f.feed.(interface{ Addr() net.Addr }); ok && f.Name == "mqtt" && at.Addr() != nil {
			return at.Addr().String()
		}
	}
	return ""
}
