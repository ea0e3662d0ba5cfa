package record_test

import (
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/record"
)

// tableNamed finds a table of the first tank.
func tableNamed(t *testing.T, d *record.Document, heading string) (record.Table, bool) {
	t.Helper()
	for _, b := range d.Sections[0].Blocks {
		if table, ok := b.(record.Table); ok && table.Heading == heading {
			return table, true
		}
	}
	return record.Table{}, false
}

// 54 L of propane at 80 % and 15 °C: 43.2 L, 22.0949 kg with the vapour by the
// reference equation of propane (Lemmon, McLinden, Wagner 2009, solved with other
// software), of 12.87043 kWh/kg net (ISO 6976:1995): 284.37 kWh. A griddle of
// 4.2 kW net for 1.5 to 3 h takes 0.489 to 0.979 kg a day, a fridge 0.24 to
// 0.48 kg; so the days lie between 22/1.46 = 15.1 and 22.1/0.73 = 30.3. Filled to
// 80 % at 15 °C propane is liquid-full at 67.88 °C.
func TestMeaningOfPropane(t *testing.T) {
	j := sample()
	j.Tanks = j.Tanks[:1]
	d := document(t, j)
	table, ok := tableNamed(t, d, "What this means")
	if !ok {
		t.Fatal("no table of what it means")
	}
	var heads []string
	for _, c := range table.Columns {
		heads = append(heads, c.Name)
	}
	if got := strings.Join(heads, "|"); got != "Display, %|Litres|Kilograms|kWh net|Lasts, days" {
		t.Errorf("columns %s", got)
	}
	if got := strings.Join(table.Rows[0].Cells[:4], "|"); got != "100|43.2|22.0|284" {
		t.Errorf("full: %s", got)
	}
	// Half the liquid: 10.9621 kg and 0.5124 kg of vapour.
	if got := strings.Join(table.Rows[2].Cells[:3], "|"); got != "50|21.6|11.4" {
		t.Errorf("half: %s", got)
	}
	low, high, found := strings.Cut(table.Rows[0].Cells[4], "–")
	if a, _ := quantity.ParseNumber(low, false); !found || a < 15 || a > 19 {
		t.Errorf("lasts from %q days", low)
	}
	if b, _ := quantity.ParseNumber(high, false); b < 24 || b > 31 {
		t.Errorf("lasts to %q days", high)
	}
	warm, ok := tableNamed(t, d, "The same gas, colder and warmer")
	if !ok || len(warm.Rows) != 4 {
		t.Fatalf("%+v", warm)
	}
	// At the saturation pressures of propane less the atmosphere: 3.448, 4.745 − 1.013,
	// 7.315 − 1.013 and 10.79 − 1.013 bar; the display moves with the litres.
	for i, want := range []string{"2.4", "3.7", "6.3", "9.8"} {
		if got := warm.Rows[i].Cells[3]; got != want {
			t.Errorf("row %d: %s bar, want %s", i, got, want)
		}
	}
	if warm.Rows[2].Cells[1] != "50.0" || warm.Rows[2].Cells[2] != "21.6" {
		t.Errorf("at 15 °C: %v", warm.Rows[2].Cells)
	}
	text := readPage(t, html(t, j, record.A4)).text
	contains(t, text, "Filled to 80 % at 15 °C it is full of liquid at 67 °C", "never fill beyond it", "griddle (67 %) and fridge (33 %)", "Count on the lower figure", "Doubt, about 95 %, of a display in whole points")
}

// In a person's units; the figures behind them are the same.
func TestMeaningInOtherUnits(t *testing.T) {
	j := sample()
	j.Tanks = j.Tanks[:1]
	j.Units = &quantity.Units{Volume: "US gal", Mass: "lb", Energy: "MJ", Pressure: "psi", Temperature: "F"}
	d := document(t, j)
	table, _ := tableNamed(t, d, "What this means")
	// 43.2/3.785411784 = 11.412; 22.0949/0.45359237 = 48.71; 284.37·3.6 = 1023.7.
	if got := strings.Join(table.Rows[0].Cells[:4], "|"); got != "100|11.4|48.7|1023" {
		t.Errorf("full: %s", got)
	}
	warm, _ := tableNamed(t, d, "The same gas, colder and warmer")
	if got := warm.Columns[0].Name + warm.Columns[3].Name; got != "At, °FPressure, psi" {
		t.Errorf("columns %s", got)
	}
	if warm.Rows[0].Cells[0] != "14" || warm.Rows[3].Cells[0] != "86" {
		t.Errorf("%v", warm.Rows)
	}
	contains(t, readPage(t, html(t, j, record.A4)).text, "Filled to 80 % at 59 °F it is full of liquid at 154 °F")
}

// No figure tells how to fill a gas tank beyond what is permitted, or beyond the
// usual where that isn't stated; and without knowing the gas nothing is told.
func TestMeaningInvitesNoOverfilling(t *testing.T) {
	for name, change := range map[string]func(k *job.Tank){
		"permitted":    func(*job.Tank) {},
		"not stated":   func(k *job.Tank) { k.PermittedFillPct = 0 },
		"whole volume": func(k *job.Tank) { k.Setting.Scale = "volume" },
	} {
		j := sample()
		j.Tanks = j.Tanks[:1]
		j.Tanks[0].Setting.Scale = "mark"
		change(&j.Tanks[0])
		table, ok := tableNamed(t, document(t, j), "What this means")
		if !ok {
			t.Fatalf("%s: no table", name)
		}
		if got := strings.Join(table.Rows[0].Cells, " "); got != "† 100 – – – –" {
			t.Errorf("%s: %s", name, got)
		}
		if !strings.HasPrefix(table.Rows[1].Cells[1], "40.") || !strings.HasPrefix(table.Notes[0], "† ") {
			t.Errorf("%s: %v, %q", name, table.Rows[1], table.Notes[0])
		}
	}
	j := sample()
	j.Tanks = j.Tanks[:1]
	j.Tanks[0].Gas = nil
	if _, ok := tableNamed(t, document(t, j), "What this means"); ok {
		t.Error("kilograms of a gas that isn't stated")
	}
}

// Water and diesel: frost, heat, and days where they are known.
func TestMeaningOfLiquids(t *testing.T) {
	j := sample()
	fresh := water()
	fresh.Bench.Readings, fresh.Setting.Scale, fresh.Checks = nil, "volume", nil
	for pct := 0.0; pct <= 100; pct += 10 {
		fresh.Bench.Readings = append(fresh.Bench.Readings, job.Reading{MarkPct: at(pct), Ohm: 4 + 1.76*pct})
	}
	fresh.Loads = []job.Load{{Name: "tea", LPerDay: job.Between(6, 10)}}
	j.Tanks = []job.Tank{fresh, diesel()}
	text := readPage(t, html(t, j, record.A4)).text
	contains(t, text, "120 L of water take 131 L as ice", "Lasts, days", "12–20", "tea (100 %)",
		"Filled to 95 % at 15 °C, the diesel fuel", "diesel heater (100 %)", "Reckoned at −5 °C, by EN 590")
	table, ok := tableNamed(t, document(t, j), "What this means")
	if !ok || len(table.Columns) != 4 || table.Rows[0].Cells[1] != "120" {
		t.Errorf("%+v", table)
	}
}
