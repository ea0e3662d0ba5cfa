package mqtt

import (
	"fmt"
	"net"
	"strings"
	"testing"
)

// TestClientStates has mosquitto's clients say how they stand: it is retained where
// they ask for it, a will of the kind is published when one is killed, and none of
// it is a reading. What is too long, or at a topic that only looks like it, is
// refused and counted.
func TestClientStates(t *testing.T) {
	for _, version := range []string{"311", "5"} {
		t.Run(version, func(t *testing.T) {
			sink := new(held)
			b := inside(t, Config{}, sink)
			_, port, _ := net.SplitHostPort(b.Addr().String())
			mustPublish(t, port, version, "-r", "-t", "gaugewright/"+StateTopic("shed"), "-m", "running")
			late := subscribe(t, port, version, "-t", "gaugewright/state/#")
			late.waitFor(t, "1 gaugewright/state/shed running")
			killed := subscribe(t, port, version, "-t", "gaugewright/x/level", "--will-topic", "gaugewright/state/van", "--will-payload", "gone", "--will-qos", "1", "--will-retain")
			killed.kill()
			late.waitFor(t, "0 gaugewright/state/van gone")
			later := subscribe(t, port, version, "-t", "gaugewright/state/#")
			later.waitFor(t, "1 gaugewright/state/van gone")
			for _, wrong := range []string{"gaugewright/state", "gaugewright/state/", "gaugewright/state/a/b", "state/shed"} {
				_, _ = publish(t, port, version, "-t", wrong, "-m", "x") // MQTT 5 is told
			}
			_, _ = publish(t, port, version, "-t", "gaugewright/state/shed", "-m", strings.Repeat("x", 257))
			eventually(t, "five messages refused", func() bool { return sink.count(foreignTopic) == 5 })
			if got := fmt.Sprint(late.got(), sink.values()); strings.Contains(got, " x") || !strings.HasSuffix(got, "[]") {
				t.Errorf("passed on, and kept as readings: %s", got)
			}
		})
	}
}
