package web

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/watch"
)

// allWell is what is said where nothing needs a look.
const allWell = "Nothing is wrong."

// leftWell says whether anything needs a look, in a sentence.
func leftWell(tanks []leftTank) string {
	all, look, waiting := len(tanks), 0, 0
	for _, t := range tanks {
		switch {
		case t.Class == "waiting":
			waiting++
		case t.First != "":
			look++
		}
	}
	switch {
	case all == 0:
		return "No tank is watched."
	case look == 1 && all == 1:
		return "It needs a look."
	case look == all:
		return "Every tank needs a look."
	case look == 1:
		return fmt.Sprintf("1 of %d tanks needs a look.", all)
	case look > 1:
		return fmt.Sprintf("%d of %d tanks need a look.", look, all)
	case waiting == all:
		return "No level yet. Wait a moment."
	case waiting > 0:
		return fmt.Sprintf("Nothing is wrong. %d of %d levels will come in a moment.", waiting, all)
	}
	return allWell
}

// leftWellBut is leftWell where an alarm stands: more isn't well then.
func leftWellBut(tanks []leftTank) string {
	said := leftWell(tanks)
	switch {
	case said == allWell:
		return "Every level can be believed."
	case strings.HasPrefix(said, allWell):
		return "The levels that don’t stand here yet will come in a moment."
	}
	return said
}

// What an owner can do.
const (
	askFitter   = "Ask your fitter."
	askIfStays  = "Ask your fitter if it stays so."
	lookAtPower = "Look whether the power is on. If it is, ask your fitter."
)

// leftWrong says in an owner's words what is wrong with a level, and what to do;
// "" where nothing is.
func leftWrong(v watch.Level) (wrong, do string) {
	if v.Shown && v.Status == watch.Good {
		return "", ""
	}
	if v.Time.IsZero() && v.Last.Time.IsZero() {
		return "No reading has come yet.", lookAtPower
	}
	switch v.Fault {
	case watch.BrokenWire:
		return "A wire to its sender is broken or has come off.", askFitter
	case watch.ShortCircuit:
		return "The wires of its sender touch one another.", askFitter
	case watch.BeyondSpan:
		return "Its sender says what no level can be.", askFitter
	case watch.JustBeyond:
		return "Its sender has gone a little beyond where it was measured, so the level may be off.", askIfStays
	case watch.Jump:
		return "The level jumped faster than any tank fills or empties.", askIfStays
	case watch.Unsettled:
		return "The level has still to settle.", "Wait a moment."
	case watch.Flicker:
		return "Its sender has a loose contact.", askFitter
	case watch.NoReading:
		return "Nothing comes from its sender any more.", lookAtPower
	case watch.NotAvailable:
		return "What reads its sender has no value for it.", askIfStays
	case watch.SourceBroken:
		return "What reads its sender reports a fault.", askFitter
	case watch.SourcesDisagree:
		return "Two devices read this tank, and they don't agree.", askFitter
	case watch.ClockOff:
		return "The clock of what reads its sender is wrong, so the age may be, too.", askFitter
	case watch.TooTilted:
		return "The vehicle leans too far to tell the level.", "Look again when it stands level."
	case watch.NoFault:
	}
	return "Something is wrong, and what isn't known.", askFitter
}

// leftTroubleOf says what is amiss with the watch itself.
func leftTroubleOf(s Standing, now time.Time) leftTrouble {
	var t leftTrouble
	if n := len(s.Notes); n > 0 {
		t.Note, t.Earlier = s.Notes[n-1], slices.Clone(s.Notes[:n-1])
		slices.Reverse(t.Earlier)
	}
	if s.Failing == "" {
		return t
	}
	t.Failing, t.Besides = cannotKeep(s.Disk)+" "+askFitter, "The levels are shown all the same."
	if !s.Since.IsZero() {
		t.Besides = "Since " + leftClock(s.Since, now) + ". " + t.Besides
	}
	return t
}

// cannotKeep says in an owner's words why readings can't be kept.
func cannotKeep(d Disk) string {
	switch d {
	case DiskFull:
		return "Readings can't be kept: the disk is full."
	case DiskFaulty:
		return "Readings can't be kept: the disk reports a fault."
	case DiskReadOnly:
		return "Readings can't be kept: the disk may only be read."
	case DiskFails:
	}
	return "Readings can't be kept at present."
}

// leftClock writes a moment to the minute, with its day where that isn't today.
func leftClock(at, now time.Time) string {
	at = at.In(now.Location())
	switch {
	case at.Format(time.DateOnly) == now.Format(time.DateOnly):
		return at.Format("15:04")
	case at.Year() == now.Year():
		return at.Format("2 Jan 15:04")
	}
	return at.Format("2 Jan 2006 15:04")
}
