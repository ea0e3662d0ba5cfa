package storetest

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/internal/job"
)

func (s *suite) list() {
	if cards, all, err := s.store.Jobs(s.ctx, "", 10); err != nil || all != 0 || len(cards) != 0 {
		s.Errorf("of an empty store: %v, %d, %v", cards, all, err)
	}
	var ids []job.ID
	for i := range 5 {
		ids = append(ids, s.begin(fmt.Sprint("number ", i), minute(i)))
	}
	c := take("", 1)
	c.At = minute(10)
	s.must(ids[1], c)
	want := []job.ID{ids[1], ids[4], ids[3], ids[2], ids[0]}
	for _, limit := range []int{0, 1, 4, 5, 1000} {
		cards, all, err := s.store.Jobs(s.ctx, "", limit)
		if err != nil || all != 5 {
			s.Fatalf("%d at most: %d jobs, %v", limit, all, err)
		}
		var got []job.ID
		for _, c := range cards {
			got = append(got, c.ID)
		}
		if !slices.Equal(got, want[:min(limit, 5)]) {
			s.Errorf("%d at most: %q; want %q", limit, got, want[:min(limit, 5)])
		}
	}
	cards, all, err := s.store.Jobs(s.ctx, "number", 2)
	if err != nil || all != 5 || len(cards) != 2 {
		s.Fatalf("%d of %d, %v", len(cards), all, err)
	}
	k := s.get(ids[1])
	if c := cards[0]; c.Revision != 2 || c.Number != "number 1" || c.Customer != k.Job.Customer || c.Vehicle != k.Job.Vehicle || c.Date != k.Job.Date ||
		!c.Changed.Equal(minute(10)) {
		s.Errorf("card %+v", c)
	}
	s.must(ids[0], job.Change{At: minute(11), Do: func(j *job.Job) error {
		j.Number, j.Customer, j.Vehicle, j.Date = "n", "c", "", "2027-01-02"
		return nil
	}})
	if cards, _, err = s.store.Jobs(s.ctx, "", 1); err != nil || cards[0].Number != "n" || cards[0].Customer != "c" || cards[0].Vehicle != "" || cards[0].Date != "2027-01-02" {
		s.Errorf("after a change of the heading: %+v, %v", cards, err)
	}
}

// cardTanks holds the tanks of a card against what the job itself says.
func (s *suite) cardTanks() {
	id := s.begin("1", day)
	check := func(k *job.Kept) {
		s.Helper()
		cards, _, err := s.store.Jobs(s.ctx, "", 1)
		if err != nil || len(cards) != 1 || len(cards[0].Tanks) != len(k.Job.Tanks) {
			s.Fatalf("%+v, %v", cards, err)
		}
		for i, t := range k.Job.Tanks {
			done := true
			for _, step := range t.Summary() {
				done = done && step.Done
			}
			if got, want := cards[0].Tanks[i], (job.CardTank{Name: t.Name, Contents: t.Contents, Next: t.Next(), Done: done}); got != want {
				s.Errorf("%+v; want %+v", got, want)
			}
		}
	}
	check(s.get(id))
	check(s.must(id, take("", 45)))
	check(s.must(id, job.Change{Do: func(j *job.Job) error { j.Tanks = j.Tanks[1:]; j.Tanks[0].Name = "Küche"; return nil }}))
	check(s.must(id, job.Change{Do: func(j *job.Job) error { j.Tanks = []job.Tank{}; return nil }}))
}

func (s *suite) search() {
	jobs := map[string]*job.Job{}
	for name, words := range map[string][5]string{
		"kitchen": {"TK-01", "Tidewater Kitchen", "food trailer, white", "2026-11-03", "Gas"},
		"hut":     {"HUT_7", "Hütte Ärmelbach", "hut 100% wood", "2026-12-24", "Öl"},
		"greek":   {"G-3", "ΟΔΟΣ Straße", "van", "2025-01-01", "Вода"},
	} {
		j := Sample(s)
		j.Number, j.Customer, j.Vehicle, j.Date = words[0], words[1], words[2], words[3]
		j.Tanks = j.Tanks[:1]
		j.Tanks[0].Name = words[4]
		jobs[name] = j
		s.put(j, day)
	}
	for find, want := range map[string]string{
		"":                       "greek hut kitchen",
		"  \t\n":                 "greek hut kitchen",
		"tidewater":              "kitchen",
		"TIDEWATER":              "kitchen",
		"kitchen  tidewater":     "kitchen", // in any order
		"kitchen white 2026 gas": "kitchen", // over all the fields
		"tide chen":              "kitchen", // parts of words
		"tidewater hut":          "",        // every word
		"hütte":                  "hut",
		"HÜTTE":                  "hut",
		"ärmel":                  "hut",
		"Ärmel":                  "hut",
		"ÖL":                     "hut",
		"100%":                   "hut",
		"%":                      "hut",
		"_":                      "hut",
		"t_7":                    "hut",
		"t%7":                    "",
		"'":                      "",
		`"`:                      "",
		`\`:                      "",
		"' OR '1'='1":            "",
		"οδος":                   "greek",
		"οδοσ":                   "greek",
		"ВОДА":                   "greek",
		"straße":                 "greek",
		"2026-1":                 "hut kitchen",
		"-0":                     "greek kitchen",
		"kitchenfood":            "", // not from one field into the next
		"gas gas GAS":            "kitchen",
		strings.Repeat("a", 500): "",
	} {
		cards, all, err := s.store.Jobs(s.ctx, find, 10)
		if err != nil {
			s.Errorf("%q: %v", find, err)
			continue
		}
		var got []string
		for _, c := range cards {
			for name, j := range jobs {
				if j.Number == c.Number {
					got = append(got, name)
				}
			}
		}
		slices.Sort(got)
		if strings.Join(got, " ") != want || all != len(got) {
			s.Errorf("%q finds %q, %d in all; want %s", find, got, all, want)
		}
	}
}

func (s *suite) oddText() {
	for _, text := range []string{
		"<script>alert(1)</script>", `'; DROP TABLE job; --`, "名前 🚐 שלום", "e\u0301 and é", "&amp; &#39;", strings.Repeat("ö", 300), "${x} %s {{.}}",
	} {
		j := Sample(s)
		j.Customer, j.Number, j.Tanks[0].Name = text, strings.TrimSpace(text), text
		want := s.encoded(j)
		id := s.put(j, day)
		k := s.must(id, job.Change{Key: text, By: text, Words: text, Do: func(j *job.Job) error { return nil }})
		if got := s.encoded(k.Job); got != want {
			s.Errorf("%q: kept is\n%s", text, got)
		}
		if list, err := s.store.History(s.ctx, id, 1); err != nil || len(list) != 1 || list[0].Key != text || list[0].By != text || list[0].Words != text {
			s.Errorf("%q: the history is %+v, %v", text, list, err)
		}
		cards, _, err := s.store.Jobs(s.ctx, text, 1)
		if err != nil || len(cards) != 1 || cards[0].ID != id || cards[0].Customer != text || cards[0].Tanks[0].Name != text {
			s.Errorf("%q: found %+v, %v", text, cards, err)
		}
	}
}
