package outlook

// meals are the parts of a day that people count by: hours from and to, which may
// lie beyond midnight (common practice, no source).
var meals = []struct {
	name     string
	from, to int
}{
	{"evenings", 17, 24}, {"mornings", 5, 11}, {"middays", 11, 15}, {"afternoons", 13, 18}, {"nights", 21, 30},
}

// mealsFrom is what part of the use has to fall into one part of the day for people
// to count by it, and mealDays on how many whole days that has to rest.
const (
	mealsFrom = 0.70
	mealDays  = 3
)

// meal is which of meals the use falls into; -1: none.
func (m *Model) meal() int {
	if m.wholeDays() < mealDays {
		return -1
	}
	s := m.byHour()
	best, most := -1, mealsFrom
	for i, w := range meals {
		sum := 0.0
		for h := w.from; h < w.to; h++ {
			sum += s.part[h%24]
		}
		if sum >= most {
			best, most = i, sum
		}
	}
	return best
}
