package web

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/docket"
	"gaugewright/internal/flow"
	"gaugewright/internal/history"
	"gaugewright/internal/job"
	"gaugewright/internal/language"
	"gaugewright/internal/notice"
	"gaugewright/internal/outlook"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// Watched is what the page of the levels needs of a watch. It may be asked by many
// at once.
type Watched interface {
	// Labels says what each tank is called; always the same, in the order of the
	// page.
	Labels() []Label
	// Levels gives the level of each tank at a moment, in the order of Labels. One of
	// which nothing came yet has the zero Time.
	Levels(now time.Time) []watch.Level
	// Counts says what came in for each tank, in the order of Labels.
	Counts() []watch.Counts
	// Feeds says how each way stands by which readings come in.
	Feeds() []FeedState
	// Changed gives a channel that is closed when next a level, a feed or the
	// standing changes.
	Changed() <-chan struct{}
	// Past answers for what was; nil where nothing is kept.
	Past() history.Past
	// Standing says how the watch itself stands.
	Standing() Standing
	// Flows says what came in and went out, and how it goes on; nil where that isn't
	// followed.
	Flows() Flows
	// Dockets, Alarms and Notices are nil where there are none.
	Dockets() docket.Book
	Alarms() alarm.Board
	Notices() notice.Post
}

// Flows is what pages need of what came in and went out of the tanks.
type Flows interface {
	// Outlooks says of each tank how it goes on, in the order of Labels.
	Outlooks(now time.Time) []outlook.Outlook
	// Uses says what is known of the use, in the order of Labels: by the day, by the
	// hour, by the weekday.
	Uses() []Use
	// Flows gives what happened to a tank between two times, the latest first.
	// Of some kinds alone where those are named.
	Flows(ctx context.Context, tank string, from, to time.Time, most int, kinds ...flow.Kind) ([]flow.Event, error)
}

// Use is what is known of the use of a tank, in parts of what its full scale holds.
type Use struct {
	Rate      outlook.Rate
	Days      []outlook.Day
	ByHour    [24]float64
	ByWeekday [7]float64
	// Full is what the full scale holds, m³ and kg; 0 where that isn't known.
	Full     quantity.CubicMetre
	FullMass float64
	Swing    flow.Swing // of the reading with the day
}

// Standing is how a watch itself stands, apart from any tank.
type Standing struct {
	Started time.Time
	// Failing is why readings can't be kept at present, "" where they are, and Since
	// is since when. They aren't acknowledged meanwhile, so that those who sent them
	// keep them. Disk is what kind of failing that is.
	Failing string
	Disk    Disk
	Since   time.Time
	Waiting int // readings that wait to be kept
	// Lost is what was lost for want of room, by its name.
	Lost []FeedCount
	// Notes say in a sentence each what else people should know: what was put right
	// at the start, a clock that was set, a damaged file that was put aside.
	Notes []string
}

// Disk is why a disk takes no readings.
type Disk uint8

// The kinds of failing. [DiskFails] is any other, and what isn't known.
const (
	DiskFails    Disk = iota
	DiskFull          // there is no room on it
	DiskFaulty        // it reports a fault
	DiskReadOnly      // it may only be read, or the file may
)

// Label is what a page says of a tank that doesn't change with its level.
type Label struct {
	Tank     string // its name in the watch
	Label    string // for people; "": its name
	Contents job.Contents
	Units    quantity.Units // in which amounts are shown
	Cautions []string       // job.Tank.Cautions

	// Job and JobTank are the number of the job by which it is watched and the tank's
	// name in it; "" where it is known by its end values alone.
	Job, JobTank string

	// Sentence says what 100 % means; "" where that isn't known.
	Sentence string
	// Permitted is where the permitted fill stands on the scale, 0..1; 0: it isn't
	// drawn.
	Permitted quantity.Share
	// Signal is what the sender gives, and Least and Most are between which values it
	// was calibrated; both 0: that isn't known.
	Signal      watch.Signal
	Least, Most float64
	// Shares and Volumes say what a share of the scale comes to, straight between
	// pairs; none: no litres stand beside the sight column.
	Shares  []quantity.Share
	Volumes []quantity.CubicMetre
}

// FeedState is how one feed stands.
type FeedState struct {
	Name    string    // "mqtt", "modbus/bay"
	Up      bool      // connected, or listening
	Where   string    // to what: "127.0.0.1:502"
	Since   time.Time // connected or lost since then; zero: it has neither been up nor down
	Why     string    // why it was lost, where it isn't up
	Again   time.Time // when it will be tried again; zero: that isn't known
	Taken   uint64    // readings that were kept; 0: they aren't counted
	Refused []FeedCount
}

// FeedCount is how often something was refused, by the words for it.
type FeedCount struct {
	Why string // "not a number"
	N   uint64
}

// WatchedOptions is what the pages of the levels need where there are no others.
type WatchedOptions struct {
	Watch     Watched
	Now       func() time.Time // nil: time.Now
	Log       *slog.Logger     // nil: nothing is logged
	Hosts     []string         // as in [Options]
	Languages language.Books   // as in [Options]

	// Ended is closed when the program stops serving: pages that follow the watch
	// hold a request open. nil: they end with their requests alone.
	Ended <-chan struct{}
}

// NewWatched makes a site of the pages of the levels alone: no jobs, no store and
// nobody to sign in. It is for addresses that only this machine reaches.
func NewWatched(o WatchedOptions) (http.Handler, error) {
	if o.Watch == nil {
		return nil, errors.New("web: there is nothing that is watched")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &Site{o: Options{Watch: o.Watch, Meters: noMeters{}, Now: o.Now, Log: o.Log, Hosts: o.Hosts, Languages: o.Languages}}
	s.followers.ended = o.Ended
	s.handler = s.door(s.spoken(s.limited(s.watchedRoutes())))
	return s, nil
}

// watchedRoutes are the addresses of the pages of the levels where there are no
// others.
func (s *Site) watchedRoutes() http.Handler {
	m := s.crossing()
	m.Handle("GET "+staticPath+"{name...}", static)
	page := func(pattern string, h handler) { m.Handle(pattern, s.page(h)) }
	page("GET /{$}", func(w http.ResponseWriter, r *http.Request) error { return goTo(w, r, leftPath) })
	s.leftRoutes(m)
	s.alarmRoutes(m)
	s.noticeRoutes(m)
	page("GET "+watchedPath, s.watchedPage)
	page("GET "+watchedPath+"/now", s.watchedNow)
	s.pastRoutes(page)
	page("POST "+languagePath, s.chooseLanguage)
	page("/", func(http.ResponseWriter, *http.Request) error { return notFound("There is no such page.") })
	return m
}

// watchedPage lists the tanks that are watched with their levels.
func (s *Site) watchedPage(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, view{Page: "watched", Title: "Levels", Wide: true, Body: s.watchedBody(r)})
}

// watchedNow is what stands on the page of the levels, for its script.
func (s *Site) watchedNow(w http.ResponseWriter, r *http.Request) error {
	return s.showPart(w, "watched", "now", view{Page: "watched", Languages: s.languages(r), Body: s.watchedBody(r)})
}
