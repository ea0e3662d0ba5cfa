package notice

import (
	"context"
	"time"
)

// Notice is something to be told, with its own time: it may be delivered much later.
type Notice struct {
	ID       string    // unique; the same however often it is tried
	Time     time.Time // of what it tells
	Alarm    string    // alarm.Rule.ID; "": a test
	Tank     string
	Label    string // of the tank, for people
	Kind     string // alarm.Kind; "test"
	Priority string // alarm.Priority
	State    string // alarm.State
	Again    int    // it is sent for the so manieth time; 0: the first
	Title    string // short
	Text     string // sentences, what to do with it
	Cautions []string
}

// Way is one way by which notices go out: "mail/owner", "hook/house", "push/…", "mqtt".
type Way interface {
	Name() string
	// Send delivers a notice, or says why not. It is bounded by ctx. Permanent tells
	// errors that no further try will mend.
	Send(ctx context.Context, n Notice) error
}

// Waiting is a notice on its way by one way.
type Waiting struct {
	Notice Notice
	Way    string
	Tries  int
	Next   time.Time // of the next try; zero: it is given up
	Why    string    // why the last try failed
	Last   time.Time // of the last try
	Done   time.Time // delivered; zero: not
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
	// Subscribe and Unsubscribe keep a browser's subscription to Web Push (RFC 8030),
	// as the browser gives it in JSON. Key is the public key it has to give (RFC 8292).
	Subscribe(ctx context.Context, label string, subscription []byte) error
	Unsubscribe(ctx context.Context, endpoint string) error
	Key() string
}

// WayState is how a way stands.
type WayState struct {
	Name string
	What string // to whom, for people: "owner@example.org"
	Sent int    // since the start
	Last time.Time
	Why  string // why the last try failed; "" where it didn't
}
