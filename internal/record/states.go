package record

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/internal/job"
)

// states is what the record states and what doesn't apply, held against what a
// calibration certificate has to state (ISO/IEC 17025:2017, 7.8.2, 7.8.4, 7.8.6
// and 7.8.7, from memory and in our own words). The record is no such
// certificate, and says so first.
func states(j *job.Job) Table {
	t := Table{ID: "states", Major: true, Heading: "What this record states, and what doesn't apply", Parts: []float64{0.27, 0.15, 0.58},
		Columns: []Column{{"Asked of a calibration certificate", false}, {"Clause", false}, {"In this record", false}}}
	add := func(asked, clause, here string) {
		t.Rows = append(t.Rows, Row{Cells: []string{asked, clause, here}})
	}
	number := clean(j.Number)
	add("What kind of document it is", "7.8.2.1 a", "A commissioning record made by a fitter. It is no calibration certificate, and nobody is accredited for it.")
	add("Who made it, and where", "7.8.2.1 b, c", given(j.Fitter, "The fitter is %s. The place of the work isn't kept in the job.", "The fitter isn't stated, nor the place of the work."))
	add("Its identification, page by page, and its end", "7.8.2.1 d", given(number, "Job %s and the checksum of its file. Each page has the job's number and its own of so many; the last says that it ends.", "No job number is stated; the checksum of the job file stands at the end. Each page has its number of so many; the last says that it ends."))
	add("The customer", "7.8.2.1 e", given(j.Customer, "%s, as told by the fitter.", "Not stated."))
	add("The method", "7.8.2.1 f, n", "The sender was read with a meter at known marks; a curve that never turns back was laid through the readings; what was keyed in was tried on that curve, and then on the display itself. Readings set aside or struck out are shown.")
	add("The item", "7.8.2.1 g", "The vehicle, each tank and each sender, under the heading of the tank.")
	add("When the item came in, and how it was sampled", "7.8.2.1 h, k", "Doesn't apply: each sender was read where it is fitted or on the bench, and none was sampled.")
	add("The dates of the work", "7.8.2.1 i, j", datesOf(j))
	add("What the results hold for", "7.8.2.1 l", "Only for the senders and displays named here, as they were on those days.")
	add("Results with their units", "7.8.2.1 m", "In the unit of what the sender gives, in points of the display, and in litres and kilograms where the tank is known.")
	add("Who answers for it", "7.8.2.1 o", signedBy(j))
	add("Results from others", "7.8.2.1 p; 7.8.2.2", "Spans as claimed are those of a data sheet, and capacities are as stated to the fitter; both are said to be so.")
	add("The uncertainty, in the unit of the result", "7.8.4.1 a", uncertaintyOf(j))
	add("The conditions", "7.8.4.1 b", conditions(j))
	add("How the results go back to the SI", "7.8.4.1 c", "Not claimed. The meter is named where the fitter named it; its own calibration isn't kept in the job.")
	add("Results before and after adjustment", "7.8.4.1 d", foundAndLeft(j))
	add("Conformity, and the rule by which it was decided", "7.8.4.1 e; 7.8.6", conformity(j))
	add("When to calibrate again", "7.8.4.3", nextCheck(j))
	add("Opinions and interpretations", "7.8.7", "What the sender does, and every sentence that begins with Look at this or Not fit, is the program's judgement by rule from the figures shown.")
	t.Notes = []string{"Clauses are those of ISO/IEC 17025:2017, in our own words. The record must be copied whole or not at all."}
	return t
}

// given puts a text into one sentence, or gives another where there is none.
func given(text, with, without string) string {
	if text = clean(text); text == "" {
		return without
	}
	return fmt.Sprintf(with, text)
}

// namesOf lists the tanks for which something holds.
func namesOf(j *job.Job, holds func(job.Tank) bool) []string {
	var names []string
	for i, t := range j.Tanks {
		if holds(t) {
			names = append(names, orElse(clean(t.Name), fmt.Sprintf("tank %d", i+1)))
		}
	}
	return names
}

// brief lists names, the first few of many.
func brief(names []string) string {
	const most = 6
	if len(names) > most {
		names = append(slices.Clone(names[:most-1]), fmt.Sprintf("%d more", len(names)-most+1))
	}
	return listed(names)
}

// datesOf is when readings were taken, numbers keyed in and displays checked.
func datesOf(j *job.Job) string {
	var read, set, proved, again []string
	for _, t := range j.Tanks {
		if len(t.Bench.Readings) > 0 {
			read = append(read, day(t.Bench.Date))
		}
		if t.Setting != nil {
			set = append(set, day(t.Setting.Date))
		}
		for _, c := range t.Checks {
			proved = append(proved, day(c.Date))
		}
		for _, s := range t.Services {
			again = append(again, day(s.Date))
		}
	}
	on := func(days []string) string {
		var once []string
		for _, d := range days {
			if d != "" && !slices.Contains(once, d) {
				once = append(once, d)
			}
		}
		return orElse(brief(once), "no stated day")
	}
	words := fmt.Sprintf("Job of %s. Read on %s, keyed in on %s, checked on %s.", orElse(day(j.Date), "no stated day"), on(read), on(set), on(proved))
	if len(again) > 0 {
		words += fmt.Sprintf(" Senders were read again on %s.", on(again))
	}
	return words
}

// signedBy says who answers for the record.
func signedBy(j *job.Job) string {
	if j.Signature != nil {
		return given(j.Signature.By, "Whoever signs below. The job file carries a digital signature by %s, which gaugewright job verify checks.", "Whoever signs below. The job file carries a digital signature, which gaugewright job verify checks.")
	}
	return "Whoever signs below; until then, nobody."
}

// uncertaintyOf says where doubts stand.
func uncertaintyOf(j *job.Job) string {
	without := namesOf(j, func(t job.Tank) bool { return len(t.Bench.Readings) > 0 && t.Bench.Doubts == nil })
	const where = "At about 95 %, beside each result: of the curve in what the sender gives, of the display in points, of contents in litres and kilograms. Each tank with a curve has its budget."
	if len(without) > 0 {
		return fmt.Sprintf("%s The errors of the meter weren't stated for %s.", where, brief(without))
	}
	return where
}

// conditions says where the temperature of the readings is known.
func conditions(j *job.Job) string {
	without := namesOf(j, func(t job.Tank) bool { return len(t.Bench.Readings) > 0 && t.Bench.TemperatureC == nil })
	if len(without) > 0 {
		return fmt.Sprintf("The temperature of each sender as it was read; it isn't stated for %s.", brief(without))
	}
	return "The temperature of each sender as it was read, under the heading of the tank. Others, such as moisture, have no part in the result."
}

// foundAndLeft says for which tanks there are results before and after.
func foundAndLeft(j *job.Job) string {
	has := func(when string) func(job.Tank) bool {
		return func(t job.Tank) bool {
			return slices.ContainsFunc(t.Checks, func(c job.Check) bool { return c.When == when })
		}
	}
	var parts []string
	if found := namesOf(j, has(job.AsFound)); len(found) > 0 {
		parts = append(parts, fmt.Sprintf("As found: %s.", brief(found)))
	} else {
		parts = append(parts, "As found: no display was checked before it was set.")
	}
	if left := namesOf(j, has(job.AsLeft)); len(left) > 0 {
		parts = append(parts, fmt.Sprintf("As left: %s.", brief(left)))
	} else {
		parts = append(parts, "As left: no display was checked after it was set.")
	}
	if again := namesOf(j, checkedLater); len(again) > 0 {
		parts = append(parts, fmt.Sprintf("The sender itself was read again later: %s.", brief(again)))
	}
	return strings.Join(parts, " ")
}

func checkedLater(t job.Tank) bool {
	return slices.ContainsFunc(t.Services, func(s job.Service) bool { return len(s.Readings) > 0 })
}

// nextCheck says whether a day for the next check is proposed.
func nextCheck(j *job.Job) string {
	if again := namesOf(j, func(t job.Tank) bool { return checkedLater(t) && t.Setting != nil }); len(again) > 0 {
		return fmt.Sprintf("No date is set. Beneath a later check stands in what time to look again, from what was seen to move: %s.", brief(again))
	}
	return "Not stated: the record sets no date for the next check."
}

// conformity says by which rule displays were judged.
func conformity(j *job.Job) string {
	if len(namesOf(j, func(t job.Tank) bool { return len(t.Checks) > 0 })) == 0 {
		return "None is stated: no display was checked."
	}
	return "Each check has its tolerance, its verdict and the rule with its guard band beneath it (JCGM 106:2012). The tolerance is what the fitter and the customer agreed; it is that of no standard."
}
