package station

import (
	"encoding/json"
	"time"

	"gaugewright/internal/api"
	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/flow"
)

// sendOutlookEvery is the least time between two outlooks of a tank that are published.
const sendOutlookEvery = time.Minute

// publishFlows publishes how a tank goes on, where that has changed, and what came in
// or went out of it, where that is new, has changed, or turned out not to be: all of it
// at most once a minute. Spells of use aren't published: the outlook tells of the use.
func (s *Station) publishFlows(t *tank) {
	if len(s.out) == 0 {
		return
	}
	o, event, some := s.flowsDue(t)
	if o != nil {
		s.sendFlows(t, mqtt.OutlookTopic(t.about.Label.Tank), o)
	}
	if some {
		s.sendFlows(t, mqtt.FlowTopic(t.about.Label.Tank), event)
	}
}

// flowsDue gives what is to be published now, and takes it as done. Of events it is the
// latest, and nil where there is none any more.
func (s *Station) flowsDue(t *tank) (o *api.Outlook, event *api.Flow, some bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	f := &t.follows
	now := s.o.Passed()
	if !t.any || f.sentOnce && now-f.sent < sendOutlookEvery {
		return nil, nil, false
	}
	ahead := s.outlook(t)
	full, kg := t.full()
	if at := f.sentAhead; !f.sentOnce || ahead != at {
		made := api.OutlookOf(t.about.Label.Tank, ahead, full, kg, s.o.Zone)
		o = &made
	}
	var latest flow.Event
	for _, e := range f.tracker.Events() {
		if e.Kind != flow.Fault && e.Kind != flow.Use && !e.Start.Before(latest.Start) {
			latest = asKept(e)
		}
	}
	if some = latest != f.sentEvent; some && latest.Kind != "" {
		made := api.FlowOf(t.about.Label.Tank, latest, full, kg)
		event = &made
	}
	f.sent, f.sentOnce, f.sentAhead, f.sentEvent = now, true, ahead, latest
	return o, event, some
}

// sendFlows hands a message to all who publish; an event that is no more is taken back.
func (s *Station) sendFlows(t *tank, topic string, message any) {
	var payload []byte
	if e, ok := message.(*api.Flow); !ok || e != nil {
		var err error
		if payload, err = json.Marshal(message); err != nil {
			s.o.Log.Error("what came in and went out can't be written", "tank", t.about.Label.Tank, "error", err)
			return
		}
	}
	for _, out := range s.out {
		if err := out.Publish(topic, payload, true); err != nil {
			s.o.Log.Warn("what came in and went out wasn't published", "topic", topic, "error", err)
		}
	}
}
