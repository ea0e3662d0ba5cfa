package mqtt

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Root is the first part of every topic, unless another is configured.
const Root = "gaugewright"

// What the topic ROOT/watch says, retained: whether the watch runs.
const (
	Running = "running"
	Gone    = "gone" // the will, and what is said on leaving
)

// Topics, below the root.
const (
	WatchTopic   = "watch"
	NoticeTopic  = "notice" // what people are told, not retained
	readingLevel = "/reading"
	levelLevel   = "/level"
	outlookLevel = "/outlook"
	flowLevel    = "/flow"
	alarmLevel   = "alarm/"
)

// LevelTopic is where a tank's level is published, below the root.
func LevelTopic(tank string) string { return tank + levelLevel }

// OutlookTopic is where it is published how a tank goes on, and FlowTopic what last
// came in or went out of it, below the root.
func OutlookTopic(tank string) string { return tank + outlookLevel }

// FlowTopic: see OutlookTopic.
func FlowTopic(tank string) string { return tank + flowLevel }

// publishedTank gives the tank that a topic below the root tells of.
func publishedTank(topic string) (tank string, ok bool) {
	if id, is := strings.CutPrefix(topic, alarmLevel); is && strings.Contains(id, "/") { // not of a tank called alarm
		tank, name, _ := strings.Cut(id, "/")
		return tank, tank != "" && name != "" && !strings.Contains(name, "/")
	}
	for _, last := range []string{levelLevel, outlookLevel, flowLevel} {
		if tank, ok = strings.CutSuffix(topic, last); ok {
			return tank, tank != "" && !strings.Contains(tank, "/")
		}
	}
	return "", false
}

// AlarmTopic is where an alarm is published, below the root: of alarm.Rule.ID.
func AlarmTopic(id string) string { return alarmLevel + id }

// Publisher publishes what the watch has to tell. The broker inside is one, and
// an outside broker's connection is another; each has a root of its own, so the
// topic is what comes below the root: "fresh/level", "watch".
type Publisher interface {
	// Publish hands a message over and returns at once. Of several for one topic
	// that can't be sent yet the latest counts. A retained one stays for those who
	// subscribe later, until an empty payload takes it back. The error says what
	// is wrong with the topic or the payload; nothing was handed over then.
	Publish(topic string, payload []byte, retain bool) error
}

// readingTank gives the tank that a topic has readings of.
func readingTank(root, topic string) (tank string, ok bool) {
	rest, ok := strings.CutPrefix(topic, root+"/")
	if !ok {
		return "", false
	}
	tank, ok = strings.CutSuffix(rest, readingLevel)
	return tank, ok && tank != "" && !strings.Contains(tank, "/")
}

// checkTopic says what is wrong with a topic to publish at: MQTT has two bytes
// for its length, keeps + and # for filters, $ at the start for brokers, and
// allows no NUL.
func checkTopic(topic string) error {
	switch {
	case topic == "":
		return fmt.Errorf("the topic is empty; expected one like %q", "fresh/level")
	case len(topic) > 65535:
		return fmt.Errorf("the topic has %d bytes; expected at most 65535", len(topic))
	case !utf8.ValidString(topic):
		return fmt.Errorf("the topic %.40q isn't UTF-8", topic)
	case strings.ContainsAny(topic, "+#\x00"):
		return fmt.Errorf("the topic %.40q has a +, a # or a NUL, which only a subscription may have", topic)
	case topic[0] == '$':
		return fmt.Errorf("the topic %.40q begins with $, which is the broker's own", topic)
	}
	return nil
}
