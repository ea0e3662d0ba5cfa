package notice

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Priorities of notices, as those of alarms (IEC 62682) are called.
const (
	Critical = "critical"
	High     = "high"
	Medium   = "medium"
	Low      = "low"
)

// Priorities are all there are, the most pressing first.
var Priorities = []string{Critical, High, Medium, Low}

// Rank gives how pressing a priority is: 0 is the most. One that isn't known ranks
// before the last, so that it isn't the first to go.
func Rank(priority string) int {
	for i, p := range Priorities {
		if p == priority {
			return i
		}
	}
	return len(Priorities) - 2
}

// KindTest is the kind of a notice that somebody asked for so as to see whether it
// arrives.
const KindTest = "test"

// KindUndelivered is the kind of a notice that says that a critical one was given up.
const KindUndelivered = "undelivered"

// Notice is something to be told, with its own time: it may be delivered much later.
type Notice struct {
	ID       string    `json:"id"`   // unique; the same however often it is tried
	Time     time.Time `json:"time"` // of what it tells
	Alarm    string    `json:"alarm,omitempty"`
	Tank     string    `json:"tank,omitempty"`
	Label    string    `json:"label,omitempty"`    // of the tank, for people
	Kind     string    `json:"kind"`               // alarm.Kind; "test"
	Priority string    `json:"priority,omitempty"` // alarm.Priority
	State    string    `json:"state,omitempty"`    // alarm.State
	Again    int       `json:"again,omitempty"`    // it is sent for the so manieth time; 0: the first
	Title    string    `json:"title"`              // short
	Text     string    `json:"text"`               // sentences, what to do with it
	Cautions []string  `json:"cautions,omitempty"`

	// Own are words in it that a person wrote, which are the same in every language.
	// The label is one without being named here.
	Own []string `json:"own,omitempty"`
}

// most lengths of what a notice holds, in bytes: of title and text, that of as many
// characters as anybody reads, of four bytes at the most.
const (
	mostID    = 200
	mostTitle = 4 * (TitleLength + 3)
	mostText  = 4 * (TextLength + 3)
)

// TitleLength and TextLength are how long title and text should be at the most, in
// characters.
const (
	TitleLength = 100
	TextLength  = 1500
)

// Check says whether a notice can be sent.
func (n Notice) Check() error {
	switch {
	case n.ID == "" || len(n.ID) > mostID:
		return fmt.Errorf("the ID of a notice has %d bytes; expected 1 to %d", len(n.ID), mostID)
	case strings.ContainsFunc(n.ID, func(r rune) bool { return r <= ' ' || r > '~' }):
		return fmt.Errorf("the ID of a notice is %q; expected printable ASCII without spaces", n.ID)
	case n.Time.IsZero():
		return fmt.Errorf("the notice %s has no time", n.ID)
	case n.Title == "" || len(n.Title) > mostTitle:
		return fmt.Errorf("the title of the notice %s has %d bytes; expected 1 to %d", n.ID, len(n.Title), mostTitle)
	case len(n.Text) > mostText:
		return fmt.Errorf("the text of the notice %s has %d bytes; expected %d at the most", n.ID, len(n.Text), mostText)
	}
	return nil
}

// Message is a notice as it goes out by one way, in the words of those who get it.
type Message struct {
	Notice
	Subject    string    // in a line
	Paragraphs []string  // what it says; what it tells comes first
	Late       string    // that it comes late and why, in a sentence; ""
	Sent       time.Time // when it goes out
}

// Body is the paragraphs as a plain text.
func (m Message) Body() string { return strings.Join(m.Paragraphs, "\n\n") + "\n" }

// Way is one way by which notices go out: "mail/owner", "hook/house", "push/…", "mqtt".
type Way interface {
	// Name is what the way is called, and What to whom it leads, for people.
	Name() string
	What() string
	// Send delivers a message, or says why not. It is bounded by ctx. What kind of
	// error it is [Failure] says; one without is worth another try.
	Send(ctx context.Context, m Message) error
}

// Failure is why a notice wasn't delivered.
type Failure struct {
	Err       error
	Permanent bool          // no further try will mend it
	Unreached bool          // nobody answered: there may be no network
	After     time.Duration // the other side asks for this pause; 0: it doesn't
	Gone      bool          // the way leads nowhere any more, and is to be taken away
}

func (f *Failure) Error() string { return f.Err.Error() }
func (f *Failure) Unwrap() error { return f.Err }

// Permanently says of an error that no further try will mend it.
func Permanently(err error) error { return &Failure{Err: err, Permanent: true} }

// Unreached says of an error that nobody answered.
func Unreached(err error) error { return &Failure{Err: err, Unreached: true} }

// FailureOf gives what is known of an error of a way.
func FailureOf(err error) Failure {
	if f := (*Failure)(nil); errors.As(err, &f) {
		return Failure{Err: err, Permanent: f.Permanent, Unreached: f.Unreached, After: f.After, Gone: f.Gone}
	}
	return Failure{Err: err}
}

// Waiting is a notice on its way by one way.
type Waiting struct {
	Notice    Notice
	Way       string
	Queued    time.Time // since when it waits
	Tries     int
	Next      time.Time // of the next try; zero: there is none
	Why       string    // why the last try failed; ""
	Unreached bool      // nobody answered then
	Last      time.Time // of the last try
	Done      time.Time // delivered; zero: not
	Dead      time.Time // given up; zero: not
}

// Post is what pages do with notices. It may be asked by many at once.
type Post interface {
	// Ways says how each way stands.
	Ways(ctx context.Context) ([]WayState, error)
	// Dead are those that were given up, the latest first; Waiting those under way.
	Dead(ctx context.Context) ([]Waiting, error)
	Waiting(ctx context.Context) ([]Waiting, error)
	// Again tries one that was given up once more; Drop lets go of it.
	Again(ctx context.Context, id, way string) error
	Drop(ctx context.Context, id, way string) error
	// Test sends a test by one way, from end to end, and says how that went.
	Test(ctx context.Context, way string) error
	// Subscribe keeps a browser's subscription to Web Push (RFC 8030), and gives the
	// name of its way; [ErrUnusable] where it can't be used. Unsubscribe lets go of the
	// one with an endpoint, and Remove of the one that is a way; [ErrNoWay] where there
	// is none.
	Subscribe(ctx context.Context, d Device) (way string, err error)
	Unsubscribe(ctx context.Context, endpoint string) error
	Remove(ctx context.Context, way string) error
	// Key is the public key that a browser has to be given to subscribe (RFC 8292); ""
	// where nothing is sent to browsers.
	Key() string
}

// Device is a browser that is to be told.
type Device struct {
	Label        string // for people
	Subscription []byte // as the browser gives it, JSON
	Language     string // of what it is told; "": English
	// Pass is the ID of the link by which whoever has it came: it is told of the tanks
	// of the link, for as long as the link works. "": of all tanks.
	Pass string
}

// Errors of a [Post].
var (
	ErrNoWay    = errors.New("there is no such way")
	ErrNoNotice = errors.New("there is no such notice")
	ErrUnusable = errors.New("this device can't be told")
)

// WayState is how a way stands.
type WayState struct {
	Name    string
	What    string // to whom, for people: "owner@example.org"
	Sent    int    // since the start
	Waiting int
	Dead    int       // given up
	Last    time.Time // of the last try
	Why     string    // why the last try failed; "" where it didn't
	Device  bool      // it is a browser that subscribed itself
	Since   time.Time // of a device
	Lost    int       // for which there was no room
}
