package web

import (
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"gaugewright/internal/chart"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
)

// looks is how contents are named and coloured.
type looks struct {
	words  string
	accent chart.Accent
}

// allLooks are those of the record, worked out once: a list of jobs asks for
// them a hundred times.
var allLooks = func() map[job.Contents]looks {
	all := map[job.Contents]looks{}
	for _, c := range []job.Contents{job.LPG, job.Water, job.Diesel, job.Petrol, job.Waste, job.Other} {
		words, accent := record.ViewOf(job.Tank{Contents: c}, quantity.Units{}, "looks").Contents()
		all[c] = looks{words, accent}
	}
	return all
}()

func looksOf(c job.Contents) looks {
	if l, ok := allLooks[c]; ok {
		return l
	}
	return allLooks[job.Other]
}

// howMany writes a number with its noun.
func howMany(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}

// cutTo shortens text to a number of characters, and takes out what is no
// UTF-8.
func cutTo(text string, most int) string {
	text = strings.TrimSpace(strings.ToValidUTF8(text, "\ufffd"))
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most])
}

// mostWords is how many words are looked for at once.
const mostWords = 20

// toFind gives what to ask a store for: no more words than any store takes.
func toFind(text string) string {
	words := strings.Fields(text)
	return strings.Join(words[:min(mostWords, len(words))], " ")
}

// whenWords writes when something was, as seen from now and on its clock.
func whenWords(at, now time.Time) string {
	at = at.In(now.Location())
	switch {
	case at.Format(time.DateOnly) == now.Format(time.DateOnly):
		return "today, " + at.Format("15:04")
	case at.Year() == now.Year():
		return at.Format("2 Jan")
	}
	return at.Format("2 Jan 2006")
}

// asSentence makes one of a message: a capital first, a full stop last.
func asSentence(text string) string {
	if text == "" {
		return ""
	}
	return stopped(capital(text))
}

// stopped puts a full stop at the end, where none ends it yet.
func stopped(text string) string {
	if strings.HasSuffix(text, ".") || strings.HasSuffix(text, "?") {
		return text
	}
	return text + "."
}
