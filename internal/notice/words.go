package notice

import (
	"fmt"
	"strings"
	"time"
)

// late is by how much a notice is late that says so.
const late = 10 * time.Minute

// Words gives what a notice says at the moment when it is sent: its subject in a line,
// and sentences: what it tells, when that was, that it comes late and why, and the
// cautions. Times of day are those of zone.
func Words(w Waiting, now time.Time, zone *time.Location) Message {
	n := w.Notice
	m := Message{Notice: n, Subject: line(n.Title), Late: Lateness(w, now), Sent: now}
	if n.Again > 0 {
		m.Subject = "Again: " + m.Subject
	}
	add := func(text string) {
		if text = strings.TrimSpace(text); text != "" {
			m.Paragraphs = append(m.Paragraphs, text)
		}
	}
	add(n.Text)
	day, clock, offset := moment(n.Time, zone)
	when := fmt.Sprintf("That was on %s at %s (%s).", day, clock, offset)
	if n.Kind == KindTest {
		when = fmt.Sprintf("It was asked for on %s at %s (%s).", day, clock, offset)
	}
	if m.Late != "" {
		when += " " + m.Late
	}
	add(when)
	if n.Again > 0 {
		add("This is sent again because nobody has acknowledged the alarm.")
	}
	for _, c := range n.Cautions {
		add(c)
	}
	return m
}

// Moment is a time for people, with its offset from UTC, as whoever reads it may be
// elsewhere.
func Moment(t time.Time, zone *time.Location) string {
	day, clock, offset := moment(t, zone)
	return day + " at " + clock + " (" + offset + ")"
}

// moment gives it in pieces, which languages put together otherwise.
func moment(t time.Time, zone *time.Location) (day, clock, offset string) {
	t = t.In(zone)
	return t.Format("2 January 2006"), t.Format("15:04:05"), t.Format("UTC-07:00")
}

// Lateness says in a sentence that a notice comes late, and why; "" where it doesn't.
// What is sent again is late only by how long it has waited itself.
func Lateness(w Waiting, now time.Time) string {
	by := now.Sub(w.Notice.Time)
	if w.Notice.Again > 0 && !w.Queued.IsZero() {
		by = now.Sub(w.Queued) // what is told again was told in time once
	}
	if by < late {
		return ""
	}
	why := "the watch had more to send than it may at once, or wasn't running"
	switch waited := now.Sub(w.Queued); {
	case !w.Queued.IsZero() && waited < late:
		why = "the readings that show it came late"
	case w.Tries > 0 && w.Unreached:
		why = "it couldn't be sent before: nobody was reached"
	case w.Tries > 0:
		why = "it couldn't be sent before: it wasn't taken"
	}
	return fmt.Sprintf("This comes %s late: %s.", Span(by), why)
}

// Span is a length of time in words, rounded down: "2 hours", "3 days".
func Span(d time.Duration) string {
	n, unit := int64(d/time.Minute), "minute"
	switch {
	case d >= 48*time.Hour:
		n, unit = int64(d/(24*time.Hour)), "day"
	case d >= 2*time.Hour:
		n, unit = int64(d/time.Hour), "hour"
	}
	if n != 1 {
		unit += "s"
	}
	return fmt.Sprintf("%d %s", n, unit)
}

// line writes a text in one line, without control characters.
func line(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r <= ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 || r == 0x2028 || r == 0x2029 }), " ")
}

// Trial is a notice that somebody asked for, so as to see whether it arrives.
func Trial(id string, now time.Time) Notice {
	return Notice{ID: id, Time: now, Kind: KindTest, Title: "A test of the watch", Priority: Low,
		Text: "This is a test: nothing is wrong. Whoever reads it knows that notices of the watch arrive here."}
}

// Lost is a notice that says that others couldn't be kept for want of room.
func Lost(id string, n int, from, to time.Time, zone *time.Location) Notice {
	what := fmt.Sprintf("%d notices were let go of for want of room", n)
	if n == 1 {
		what = "1 notice was let go of for want of room"
	}
	day1, clock1, offset1 := moment(from, zone)
	day2, clock2, offset2 := moment(to, zone)
	return Notice{ID: id, Time: to, Kind: "lost", Priority: High, Title: "Notices were lost",
		Text: fmt.Sprintf("So many waited to be sent that %s, between %s at %s (%s) and %s at %s (%s). Look at the alarms themselves.", what, day1, clock1, offset1, day2, clock2, offset2)}
}

// Undelivered is a notice for the other ways: that a critical one was given up.
func Undelivered(w Waiting) Notice {
	n := w.Notice
	n.ID, n.Kind, n.Again = ("undelivered/" + w.Way + "/" + n.ID)[:min(len("undelivered/"+w.Way+"/"+n.ID), mostID)], KindUndelivered, 0
	n.Text = fmt.Sprintf("By %s nobody could be told of this: it was given up after %d tries. ", w.Way, w.Tries) + n.Text
	return n
}
