package alarm

import (
	"fmt"
	"strings"
)

// titles say of each kind in two or three words what it is about, and overs that it is
// so no longer.
var (
	titles = map[Kind]string{
		Low: "nearly empty", High: "nearly full", Leak: "leak or sudden loss", Fault: "sender at fault", Stale: "nothing comes in", Rate: "falls fast",
	}
	overs = map[Kind]string{
		Low: "no longer nearly empty", High: "no longer nearly full", Leak: "no longer seems to leak", Fault: "sender can be believed again",
		Stale: "readings come in again", Rate: "no longer falls fast",
	}
)

// About says in two or three words what an alarm is about: "nearly empty".
func (r Rule) About() string {
	switch {
	case r.Kind == Low && r.Left > 0:
		return "lasts less than " + r.Setting
	case r.Kind == High && r.Setting == PermittedFill:
		return "above the permitted fill"
	}
	return titles[r.Kind]
}

// over says in a few words that what an alarm is about is over: "no longer nearly empty".
func (r Rule) over() string {
	switch {
	case r.Kind == Low && r.Left > 0:
		return "lasts longer than " + r.Setting + " again"
	case r.Kind == High && r.Setting == PermittedFill:
		return "no longer above the permitted fill"
	}
	return overs[r.Kind]
}

// Title is a call in a line: "Gas: leak or sudden loss".
func (c Call) Title() string {
	words := c.Standing.Rule.About()
	switch c.Why {
	case CallSum:
		words = fmt.Sprintf("%d alarms", len(c.Sum))
	case CallOver, CallGone:
		words = c.Standing.Rule.over()
	}
	return c.Standing.Label + ": " + words
}

// Text is a call in sentences: what it is about, how it stands, and what to do.
func (c Call) Text() string { return strings.Join(c.sentences(), " ") }

func (c Call) sentences() (list []string) {
	if c.Why == CallSum {
		list = append(list, "There was more to tell than is told one by one in an hour. All of it is here.")
		for _, each := range c.Sum {
			list = append(list, each.sentences()...)
		}
		return list
	}
	s := c.Standing
	switch c.Why {
	case CallOver:
		list = append(list, s.overWords())
	case CallGone:
		list = append(list, s.What, "It came and went before this could be told.", s.Sentence)
	default:
		list = append(list, s.What, s.Sentence)
	}
	if c.Times > 1 {
		list = append(list, fmt.Sprintf("It came %d times since the last notice.", c.Times))
	}
	if s.Rule.Says != "" && c.Why != CallOver {
		list = append(list, s.Rule.Says)
	}
	return list
}

// overWords says that what an alarm is about is over.
func (s Standing) overWords() string {
	switch s.Rule.Kind {
	case Low:
		if s.Rule.Left > 0 {
			return fmt.Sprintf("%s will last longer than %s again.", s.Label, s.Rule.Setting)
		}
		return fmt.Sprintf("%s isn't below %s any more.", s.Label, s.Rule.Setting)
	case High:
		return fmt.Sprintf("%s isn't above %s any more.", s.Label, s.Rule.Setting)
	case Leak:
		return fmt.Sprintf("%s doesn't seem to leak any more. Only a look at it can tell why.", s.Label)
	case Fault:
		return fmt.Sprintf("The sender of %s can be believed again.", s.Label)
	case Stale:
		return fmt.Sprintf("Readings of %s come in again.", s.Label)
	}
	return fmt.Sprintf("%s doesn't fall faster than %s any more.", s.Label, s.Rule.Setting)
}

// Sentence says what a move was, for people.
func (m Move) Sentence() string {
	who := Standing{By: m.By}.who()
	switch m.To {
	case Unacknowledged:
		switch m.From {
		case Shelved:
			return "It came off the shelf, and what it is about is there. " + m.What
		case OutOfService:
			return fmt.Sprintf("%s put it back into service, and what it is about is there. %s", who, m.What)
		}
		return m.What
	case Acknowledged:
		return fmt.Sprintf("%s acknowledged it.", who)
	case Returned:
		return "It was over, and nobody had acknowledged it."
	case Shelved:
		return fmt.Sprintf("%s shelved it.", who)
	case OutOfService:
		return fmt.Sprintf("%s took it out of service.", who)
	case Suppressed:
		return "The level wasn't known any more, which another alarm told. This one waited."
	}
	switch m.From {
	case Returned:
		return fmt.Sprintf("%s acknowledged it, after it was over.", who)
	case Shelved:
		return "It came off the shelf."
	case OutOfService:
		return fmt.Sprintf("%s put it back into service.", who)
	case Suppressed:
		return "The level was known again."
	}
	if m.What == NotSetUp {
		return m.What
	}
	return "It was over."
}
