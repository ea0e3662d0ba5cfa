package web

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gaugewright/internal/job"
)

// The pages of a job, and of one of its tanks, on which it can be left.
var (
	jobPages  = []string{"facts", "history", "tanks", "record"}
	tankPages = []string{"bench", "curve", "set", "prove", "tank", "contents"}
)

// placeOf gives the address at which a job was left. It is put together here
// from parts that are known, so that whatever was noted can lead to no other
// site and to no page that isn't there; anything else leads to the card.
func placeOf(kept *job.Kept) string {
	card := jobPath(kept.ID)
	place, _, _ := strings.Cut(kept.Place, "?")
	place = strings.Trim(strings.TrimPrefix(place, card+"/"), "/")
	switch parts := strings.Split(place, "/"); {
	case len(parts) == 1 && slices.Contains(jobPages, parts[0]):
		return card + "/" + parts[0]
	case len(parts) == 2 && slices.Contains(tankPages, parts[1]):
		if n, err := strconv.Atoi(parts[0]); err == nil && n >= 1 && n <= len(kept.Job.Tanks) {
			return fmt.Sprintf("%s/%s", tankPath(kept.ID, n), parts[1])
		}
	}
	return card
}
