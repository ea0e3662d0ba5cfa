package simulated

import (
	"fmt"
	"strings"
)

// longestQueue is how many errors it keeps; the last place then tells that more
// were lost (SCPI-99, -350).
const longestQueue = 20

func (i *Instrument) fail(code int, text string) {
	i.mu.Lock()
	defer i.mu.Unlock()
	switch {
	case len(i.queue) < longestQueue:
		i.queue = append(i.queue, fmt.Sprintf("%d,%q", code, text))
	default:
		i.queue[longestQueue-1] = `-350,"Queue overflow"`
	}
}

// command is one that it knows: its header as the standard writes it, short
// form in capitals, optional nodes in brackets.
type command struct {
	header string
	do     func(*Instrument) string // the reply, "" for a command
	value  bool                     // the reply bears a value
	ranged bool                     // it may have a range and a resolution
	extra  bool                     // unknown to a plain meter
}

var commands = []command{
	{header: "*IDN?", do: func(i *Instrument) string { return i.o.Identity }},
	{header: "*CLS", do: (*Instrument).clear},
	{header: "*RST", do: (*Instrument).reset},
	{header: "*OPC", do: nothing}, {header: "*WAI", do: nothing},
	{header: "*OPC?", do: one}, {header: "*TST?", do: zero}, {header: "*STB?", do: zero},
	{header: "*ESE", do: nothing, ranged: true}, {header: "*ESE?", do: zero}, {header: "*ESR?", do: zero},
	{header: "*SRE", do: nothing, ranged: true}, {header: "*SRE?", do: zero},
	{header: "SYSTem:ERRor[:NEXT]?", do: (*Instrument).nextError, extra: true},
	{header: "SYSTem:REMote", do: nothing, extra: true}, {header: "SYSTem:LOCal", do: nothing, extra: true},
	{header: "MEASure[:SCALar]:RESistance?", do: measured(inOhms), value: true, ranged: true},
	{header: "MEASure[:SCALar]:FRESistance?", do: measured(inOhms), value: true, ranged: true},
	{header: "MEASure[:SCALar][:VOLTage][:DC]?", do: measured(inVolts), value: true, ranged: true},
	{header: "MEASure[:SCALar]:CURRent[:DC]?", do: measured(inAmps), value: true, ranged: true},
	{header: "CONFigure[:SCALar]:RESistance", do: configured(inOhms), ranged: true},
	{header: "CONFigure[:SCALar]:FRESistance", do: configured(inOhms), ranged: true},
	{header: "CONFigure[:SCALar][:VOLTage][:DC]", do: configured(inVolts), ranged: true},
	{header: "CONFigure[:SCALar]:CURRent[:DC]", do: configured(inAmps), ranged: true},
	{header: "READ?", do: (*Instrument).read, value: true},
	{header: "FETCh?", do: (*Instrument).fetch, value: true},
	{header: "INITiate[:IMMediate]", do: func(i *Instrument) string { i.began(); return "" }},
	{header: "ABORt", do: nothing},
}

func nothing(*Instrument) string { return "" }
func one(*Instrument) string     { return "1" }
func zero(*Instrument) string    { return "0" }

func measured(which int) func(*Instrument) string {
	return func(i *Instrument) string {
		configured(which)(i)
		return i.read()
	}
}

func configured(which int) func(*Instrument) string {
	return func(i *Instrument) string {
		i.mu.Lock()
		defer i.mu.Unlock()
		i.set, i.hadRead = which, false
		return ""
	}
}

func (i *Instrument) began() int {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.hadRead = true
	return i.set
}

func (i *Instrument) read() string { return i.reply(i.began()) }

func (i *Instrument) fetch() string {
	i.mu.Lock()
	set, had := i.set, i.hadRead
	i.mu.Unlock()
	if !had {
		i.fail(-230, "Data corrupt or stale")
		return ""
	}
	return i.reply(set)
}

func (i *Instrument) clear() string {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.queue = nil
	return ""
}

func (i *Instrument) reset() string { return configured(inVolts)(i) }

func (i *Instrument) nextError() string {
	i.mu.Lock()
	defer i.mu.Unlock()
	if len(i.queue) == 0 {
		return `0,"No error"`
	}
	first := i.queue[0]
	i.queue = i.queue[1:]
	return first
}

// obey carries out a message, which may be several between semicolons, and
// gives the replies to its queries between semicolons.
func (i *Instrument) obey(message string) (reply string, value bool) {
	var replies []string
	for part := range strings.SplitSeq(message, ";") {
		head, parameters, _ := strings.Cut(strings.TrimSpace(part), " ")
		c := i.find(strings.TrimPrefix(head, ":"))
		switch {
		case c == nil:
			i.fail(-113, "Undefined header")
			continue
		case strings.TrimSpace(parameters) != "" && !c.ranged:
			i.fail(-108, "Parameter not allowed")
			continue
		}
		if r := c.do(i); r != "" {
			replies = append(replies, r)
			value = value || c.value
		}
	}
	return strings.Join(replies, ";"), value
}

func (i *Instrument) find(head string) *command {
	for n := range commands {
		if c := &commands[n]; matches(c.header, head) && !(c.extra && i.o.Plain) {
			return c
		}
	}
	return nil
}

// matches says whether a header is one of the forms that a pattern allows: each
// node whole or in its short form, in any case, those in brackets left out or
// not.
func matches(pattern, head string) bool {
	query := strings.HasSuffix(pattern, "?")
	if query != strings.HasSuffix(head, "?") {
		return false
	}
	pattern, head = strings.TrimSuffix(pattern, "?"), strings.TrimSuffix(head, "?")
	nodes := strings.Split(strings.ReplaceAll(strings.ReplaceAll(pattern, "[:", ":["), "]", ""), ":")
	return matchNodes(nodes, strings.Split(head, ":"))
}

func matchNodes(nodes, head []string) bool {
	if len(nodes) == 0 {
		return len(head) == 0
	}
	node, optional := strings.CutPrefix(nodes[0], "[")
	if len(head) > 0 && (strings.EqualFold(head[0], node) || strings.EqualFold(head[0], short(node))) && matchNodes(nodes[1:], head[1:]) {
		return true
	}
	return optional && matchNodes(nodes[1:], head)
}

// short is the capitals of a node.
func short(node string) string {
	return strings.TrimRight(node, "abcdefghijklmnopqrstuvwxyz")
}
