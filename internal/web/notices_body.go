package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"gaugewright/internal/notice"
)

// sentBody is the page of what was sent of the alarms.
type sentBody struct {
	Said          string // what was done
	Failed        string // the way by which a test wasn't delivered; ""
	FailedWhy     string // as the machine says it
	Ways, Devices []sentWay
	Waiting, Dead []sentNotice
	More          string // that more wait than stand here; ""
	Tell          string // the key for browsers; ""
}

// sentWay is one way on it.
type sentWay struct {
	ID, Name, Kind, To string
	How                []string // how it stands, in sentences
	Why                string   // why the last try failed, as the machine says it; ""
	Bad                bool
}

// sentNotice is a notice that waits or was given up.
type sentNotice struct {
	ID, Way    string
	Key        string // for the page
	Title      string
	Tank       string
	When       string // of what it tells
	How        string // in sentences
	Why        string // as the machine says it; ""
	Priority   string
	IsCritical bool
}

// mostSentShown is how many notices of each kind stand on the page.
const mostSentShown = 40

func (s *Site) sentBody(r *http.Request) (sentBody, error) {
	b := sentBody{Tell: s.tellKey()}
	post := s.post()
	if post == nil {
		return b, nil
	}
	now := s.o.Now()
	ways, err := post.Ways(r.Context())
	if err != nil {
		return b, err
	}
	for i, w := range ways {
		one := sentWayOf(i+1, w, now)
		ownIn(r.Context(), one.Name, one.To)
		if w.Device {
			b.Devices = append(b.Devices, one)
		} else {
			b.Ways = append(b.Ways, one)
		}
	}
	waiting, err := post.Waiting(r.Context())
	if err != nil {
		return b, err
	}
	if n := len(waiting) - mostSentShown; n > 0 {
		b.More = fmt.Sprintf("%d more wait.", n)
		waiting = waiting[:mostSentShown]
	}
	for i, w := range waiting {
		b.Waiting = append(b.Waiting, s.sentNoticeOf(r, fmt.Sprintf("waits-%d", i+1), w, now))
	}
	dead, err := post.Dead(r.Context())
	if err != nil {
		return b, err
	}
	for i, w := range dead[:min(len(dead), mostSentShown)] {
		b.Dead = append(b.Dead, s.sentNoticeOf(r, fmt.Sprintf("given-up-%d", i+1), w, now))
	}
	return b, nil
}

// sentKind is what kind of way one is, by its name.
func sentKind(w notice.WayState) string {
	kind, _, _ := strings.Cut(w.Name, "/")
	switch {
	case w.Device:
		return "Device"
	case kind == "mail":
		return "E-mail"
	case kind == "hook":
		return "Post to an address"
	case kind == "mqtt":
		return "The broker inside"
	case kind == "outside":
		return "A broker outside"
	}
	return "Way"
}

func sentWayOf(n int, w notice.WayState, now time.Time) sentWay {
	one := sentWay{ID: fmt.Sprintf("way-%d", n), Name: w.Name, Kind: sentKind(w), To: w.What, Why: w.Why, Bad: w.Why != "" || w.Dead > 0}
	add := func(text string) { one.How = append(one.How, text) }
	if w.Device {
		add(fmt.Sprintf("It asked to be told on %s.", w.Since.In(now.Location()).Format("2 January 2006")))
	}
	switch w.Sent {
	case 0:
		add("Nothing was sent by it since the watch was started.")
	case 1:
		add("1 notice was sent by it since the watch was started.")
	default:
		add(fmt.Sprintf("%d notices were sent by it since the watch was started.", w.Sent))
	}
	switch {
	case w.Waiting == 1:
		add("1 waits.")
	case w.Waiting > 1:
		add(fmt.Sprintf("%d wait.", w.Waiting))
	}
	switch {
	case w.Dead == 1:
		add("1 was given up.")
	case w.Dead > 1:
		add(fmt.Sprintf("%d were given up.", w.Dead))
	}
	if w.Lost > 0 {
		add(fmt.Sprintf("There was no room for %d.", w.Lost))
	}
	if w.Why != "" {
		add(fmt.Sprintf("The last try, at %s, failed:", leftClock(w.Last, now)))
	}
	return one
}

func (s *Site) sentNoticeOf(r *http.Request, key string, w notice.Waiting, now time.Time) sentNotice {
	n := w.Notice
	one := sentNotice{ID: n.ID, Way: w.Way, Key: key, Title: n.Title, Tank: orElse(n.Label, n.Tank), When: leftClock(n.Time, now), Why: w.Why, IsCritical: n.Priority == notice.Critical}
	ownIn(r.Context(), append([]string{one.Tank, n.Tank, w.Way}, n.Own...)...)
	if n.Priority == notice.Critical {
		one.Priority = "critical"
	}
	tries := "It was tried once."
	if w.Tries == 0 {
		tries = "It wasn’t tried yet."
	} else if w.Tries > 1 {
		tries = fmt.Sprintf("It was tried %d times.", w.Tries)
	}
	switch {
	case !w.Dead.IsZero():
		one.How = fmt.Sprintf("Given up at %s. %s", leftClock(w.Dead, now), tries)
	case !w.Next.IsZero() && w.Next.After(now):
		one.How = fmt.Sprintf("%s The next try is at %s.", tries, leftClock(w.Next, now))
	default:
		one.How = tries + " It is its turn."
	}
	return one
}
