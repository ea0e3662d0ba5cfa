package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// StreamAsked is which levels are streamed.
type StreamAsked struct {
	Tank string `query:"tank" maxLength:"64" doc:"Of which tank; of all unless given." example:"fresh"`
}

func (a *API) streamOperation() {
	op := operation(http.MethodGet, look, "stream-levels", "/levels/stream", "levels", "The levels as they change",
		"Server-sent events. At first each level, and then those that have changed, a second apart at the soonest: event: level, and a Level as JSON in data. A line with a colon alone comes when there was no news for a while.")
	op.Responses = map[string]*huma.Response{"200": {
		Description: "Events, each with a Level in its data.",
		Content:     map[string]*huma.MediaType{"text/event-stream": {Schema: &huma.Schema{Type: huma.TypeString, Description: "Server-sent events, as the HTML standard has them."}}},
	}}
	huma.Register(a.huma, op, func(ctx context.Context, in *StreamAsked) (*huma.StreamResponse, error) {
		if in.Tank != "" {
			if _, err := a.tankNo(ctx, in.Tank); err != nil {
				return nil, a.refusal(err).asError()
			}
		}
		select {
		case a.streams <- struct{}{}:
		default:
			no := &Refusal{Status: http.StatusServiceUnavailable, Detail: fmt.Sprintf("%d streams are open. Expected no more at once: end one, or ask for /levels now and then.", cap(a.streams)), Again: 10 * time.Second}
			return nil, no.asError()
		}
		who := whose(ctx)
		return &huma.StreamResponse{Body: func(hc huma.Context) {
			defer func() { <-a.streams }()
			r, w := humago.Unwrap(hc)
			a.stream(w, r, who, in.Tank)
		}}, nil
	})
}

// stream sends levels until whoever asked is gone, or may look no longer.
func (a *API) stream(w http.ResponseWriter, r *http.Request, who Access, tank string) {
	head := w.Header()
	head.Set("Content-Type", "text/event-stream")
	head.Set("X-Accel-Buffering", "no") // of proxies that would hold it back
	c := http.NewResponseController(w)
	send := func(text []byte) bool {
		// A client that doesn't read is cut off rather than waited for. Where there is no
		// connection to set it for, as in tests, there is none to hold up.
		_ = c.SetWriteDeadline(time.Now().Add(sentWithin))
		_, err := w.Write(text)
		return err == nil && c.Flush() == nil
	}
	quiet := time.NewTicker(a.quiet)
	defer quiet.Stop()
	sent := map[string]string{}
	text := []byte("retry: 3000\n\n")
	for {
		changed := a.o.Watch.Changed() // asked for first, so that no change is missed
		for _, l := range a.levels(who) {
			if tank != "" && l.Tank != tank {
				continue
			}
			// What grows by itself is no news.
			mark := l
			mark.AgeS = 0
			if now, _ := json.Marshal(mark); sent[l.Tank] != string(now) {
				sent[l.Tank] = string(now)
				text = appendEvent(text, l)
			}
		}
		if len(text) > 0 && !send(text) {
			return
		}
		text = text[:0]
		select {
		case <-r.Context().Done():
			return
		case <-a.o.Ending:
			return
		case <-quiet.C:
			if _, no := a.allowed(r, look); no != nil {
				return
			}
			text = append(text, ":\n\n"...)
		case <-changed:
			select {
			case <-r.Context().Done():
				return
			case <-time.After(a.o.StreamEvery):
			}
		}
	}
}

func appendEvent(text []byte, l Level) []byte {
	data, err := json.Marshal(l)
	if err != nil {
		return text
	}
	return fmt.Appendf(text, "event: level\ndata: %s\n\n", bytes.ReplaceAll(data, []byte("\n"), nil))
}
