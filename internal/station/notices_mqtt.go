package station

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/notice"
	"gaugewright/internal/notice/hook"
)

// topic is the way by MQTT: to the broker inside, or to one outside. It is handed to
// the connection, which sends it with quality of service 1.
type topic struct {
	name string
	out  mqtt.Publisher
	fed  *fed
}

// spaced is the time between two notices by MQTT: of several at once at one topic that
// a broker outside hasn't taken yet, the latest would count.
const spaced = 200 * time.Millisecond

func (p *topic) Name() string { return p.name }

func (p *topic) What() string { return p.fed.state().Where }

func (p *topic) Send(ctx context.Context, m notice.Message) error {
	if !p.fed.state().Up {
		return notice.Unreached(errors.New("the broker isn't connected"))
	}
	payload, err := json.Marshal(hook.PostOf(m))
	if err != nil {
		return notice.Permanently(err)
	}
	if err := p.out.Publish(mqtt.NoticeTopic, payload, false); err != nil {
		return err
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(spaced):
	}
	if !p.fed.state().Up {
		return errors.New("the broker's connection ended meanwhile")
	}
	return nil
}

// addPublished makes a way of each broker.
func (s *Station) addPublished() {
	for _, f := range s.feeds {
		if out, ok := f.feed.(mqtt.Publisher); ok {
			s.addSender(&topic{f.FeedState.Name, out, f}, nil, nil)
		}
	}
}
