package api

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"gaugewright/internal/doors"
)

// Access is who a request comes from, and what it may do besides looking at the
// tanks that its visitor sees.
type Access struct {
	doors.Visitor
	// Post says that it may post readings, for the tanks that its visitor publishes.
	Post bool
	// Act says that it may acknowledge and shelve alarms: of a token, those of the tanks
	// that its visitor both sees and publishes.
	Act bool
	// Inside says that it may see how the watch itself stands: its feeds, what is
	// amiss with its disk, and the figures at /metrics.
	Inside bool
}

// everyone is who asks where nobody is asked who they are: on this machine alone.
var everyone = Access{Visitor: doors.Visitor{Role: doors.Fitter}, Post: true, Act: true, Inside: true}

// Refusal is why a request isn't answered, for the program that sent it.
type Refusal struct {
	Status int           // of HTTP
	Detail string        // what was found, where, and what was expected: a sentence
	Again  time.Duration // when it may be sent again; 0: not as it is
}

// Error gives the sentence.
func (r *Refusal) Error() string { return r.Detail }

// right is what an operation asks for.
type right int

const (
	look   right = iota // at tanks
	inside              // at the watch itself
	post                // readings
	act                 // on alarms
)

type rightKey struct{}

// answers says whether alarms of a tank may be acknowledged and shelved.
func (a Access) answers(tank string) bool {
	return a.Act && (a.Role != doors.Program || a.Publishes(tank))
}

// rightName is where an operation's right stands in its metadata.
const rightName = "right"

// allowed says who a request comes from, and refuses it where it hasn't the right.
func (a *API) allowed(r *http.Request, want right) (Access, *Refusal) {
	who := everyone
	if a.o.May != nil {
		var err error
		if who, err = a.o.May(r); err != nil {
			return who, a.refusal(err)
		}
	}
	switch {
	case who.Role == doors.Nobody:
		return who, &Refusal{Status: http.StatusUnauthorized, Detail: "Nobody is signed in. Expected a token: Authorization: Bearer TOKEN."}
	case want == look && !who.Looks():
		return who, &Refusal{Status: http.StatusForbidden, Detail: "This token may not look at levels. Expected one with that right."}
	case want == inside && !who.Inside:
		return who, &Refusal{Status: http.StatusForbidden, Detail: "This token may not see how the watch itself stands. Expected one with that right."}
	case want == post && !who.Post:
		return who, &Refusal{Status: http.StatusForbidden, Detail: "This token may not post readings. Expected one with that right."}
	case want == act && !who.Act:
		return who, &Refusal{Status: http.StatusForbidden, Detail: "This token may not acknowledge or shelve alarms. Expected one that may both look and publish."}
	}
	if (want == post || want == act) && a.origin.Check(r) != nil {
		return who, &Refusal{Status: http.StatusForbidden, Detail: "A page of another site sent this. Expected a program, or a page from this address."}
	}
	return who, nil
}

// refusal makes of an error what a program may know of it; what it mustn't is
// logged.
func (a *API) refusal(err error) *Refusal {
	var no *Refusal
	switch {
	case errors.As(err, &no):
		return no
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return &Refusal{Status: http.StatusServiceUnavailable, Detail: "The answer took too long. Ask for less, or later.", Again: 5 * time.Second}
	}
	a.o.Log.Error("a program's request failed", "error", err)
	return &Refusal{Status: http.StatusInternalServerError, Detail: "The program failed at this. Its log says why."}
}

// door lets only those in who have the right that the operation asks for.
func (a *API) door(ctx huma.Context, next func(huma.Context)) {
	want, _ := ctx.Operation().Metadata[rightName].(right)
	r, _ := humago.Unwrap(ctx)
	ctx.SetHeader("Cache-Control", "no-store")
	ctx.SetHeader("X-Content-Type-Options", "nosniff")
	who, no := a.allowed(r, want)
	if no != nil {
		a.refuse(ctx, no)
		return
	}
	next(huma.WithValue(ctx, rightKey{}, who))
}

// whose gives who a request comes from that the door let in.
func whose(ctx context.Context) Access {
	who, _ := ctx.Value(rightKey{}).(Access)
	return who
}

// refuse answers with a refusal as RFC 9457 has it.
func (a *API) refuse(ctx huma.Context, no *Refusal) {
	for name, value := range no.headers() {
		ctx.SetHeader(name, value)
	}
	// Where it can't be written the program is gone.
	_ = huma.WriteErr(a.huma, ctx, no.Status, no.Detail)
}

// headers are those that go with the status.
func (r *Refusal) headers() map[string]string {
	h := map[string]string{}
	if r.Status == http.StatusUnauthorized {
		h["WWW-Authenticate"] = `Bearer realm="gaugewright"` // RFC 6750, 3
	}
	if r.Again > 0 {
		h["Retry-After"] = strconv.Itoa(max(1, int(r.Again.Round(time.Second)/time.Second)))
	}
	return h
}

// asError makes of a refusal the error that an operation returns.
func (r *Refusal) asError() error {
	err := huma.NewError(r.Status, r.Detail)
	head := http.Header{}
	for name, value := range r.headers() {
		head.Set(name, value)
	}
	return huma.ErrorWithHeaders(err, head)
}
