package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"gaugewright/internal/contents"
	"gaugewright/internal/finding"
	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/telling"
)

type gasVerb struct {
	Propane       string `placeholder:"PART" help:"Propane in the liquid, as a fraction such as 0.6, or 60%."`
	Butane        string `placeholder:"PART" help:"n-butane in the liquid."`
	Isobutane     string `placeholder:"PART" help:"Isobutane in the liquid."`
	ByVolume      bool   `help:"The parts are of the liquid's volume at 15 °C, and not of its mass."`
	Mix           string `placeholder:"NAME" help:"A mixture by its name in place of the parts, such as G31 or propane; help lists them."`
	Temp          string `default:"15C" placeholder:"TEMPERATURE" help:"The temperature of the tank, such as 5C or 41F."`
	WaterCapacity string `placeholder:"VOLUME" help:"The tank's water capacity, such as 70L."`
	Litres        string `placeholder:"LITRES" help:"Liquid in the tank in litres, at that temperature, such as 34."`
	Kg            string `placeholder:"MASS" help:"What is in the tank in all, liquid and vapour, such as 12kg."`
	Level         string `placeholder:"PERCENT" help:"Liquid in the tank as a part of its water capacity, such as 45%."`
	Doubt         string `default:"2%" placeholder:"PERCENT" help:"The standard uncertainty of the amount, as a part of the water capacity (of the amount, where no capacity is given)."`
	PermittedFill string `default:"80%" placeholder:"PERCENT" help:"The permitted fill. 80% is common practice for LPG; the tank's plate and the local code decide."`
	Burn          string `placeholder:"RATE" help:"What burns it, such as 2.2kW or 160g/h."`
	Plate         string `default:"unknown" enum:"unknown,net,gross" help:"Whether the kilowatts count net or gross heat; where the plate doesn't say, both are allowed for."`
	Hours         string `placeholder:"TIME" help:"How long that burns in a day, such as 3h."`
	Price         string `placeholder:"PRICE" help:"What a litre or a kilogram costs, such as 0.9/L or 2.4/kg, for what to ask for at the pump."`
	Docket        string `placeholder:"AMOUNT" help:"What a docket says was filled in, such as 32.4L or 17kg: in every unit, and by how much it lifts the level."`
	DocketAt15    bool   `name:"docket-at-15" help:"The docket's litres are compensated to 15 °C; else they count as metered at --temp."`
	JSON          bool   `name:"json" help:"Write the result as JSON."`
}

// gasReport is what was found out of a tank of gas.
type gasReport struct {
	telling.Gas
	u        float64 // of the mass, kg
	offtake  *contents.Give
	load     *contents.Load
	findings []finding.Finding
}

// Run answers for one tank of gas.
func (v *gasVerb) Run(s streams) error {
	if v.Mix == "help" {
		return listMixes(s.out)
	}
	r, err := v.report()
	if err != nil {
		return err
	}
	if v.JSON {
		err = writeJSON(s.out, r.result())
	} else {
		r.print(s.out)
	}
	if err == nil && finding.Worst(r.findings) == finding.Bad {
		err = errBad
	}
	return err
}

func (v *gasVerb) report() (*gasReport, error) {
	r := &gasReport{}
	var err error
	if r.Mix, r.Name, err = v.mix(&r.findings); err != nil {
		return nil, err
	}
	t, err := quantity.ParseKelvin(v.Temp)
	if err != nil {
		return nil, fmt.Errorf("--temp: %w", err)
	}
	r.Kelvin = float64(t)
	if r.Now, err = r.Mix.At(r.Kelvin); err != nil {
		return nil, fmt.Errorf("--temp: %w", err)
	}
	if v.WaterCapacity != "" {
		if r.Capacity, err = quantity.ParseCubicMetre(v.WaterCapacity); err != nil {
			return nil, fmt.Errorf("--water-capacity: %w", err)
		}
		if !(r.Capacity > 0) {
			return nil, fmt.Errorf("--water-capacity: found %s; expected more than nothing", r.Capacity)
		}
	}
	if r.Permitted, err = quantity.ParseShare(v.PermittedFill); err != nil {
		return nil, fmt.Errorf("--permitted-fill: %w", err)
	}
	if !(r.Permitted > 0 && r.Permitted <= job.MaxLPGFillPct/100.0) {
		return nil, fmt.Errorf("--permitted-fill: found %s; for LPG more than 0 and up to %d %%", r.Permitted, job.MaxLPGFillPct)
	}
	if err := v.amount(r); err != nil {
		return nil, err
	}
	if r.Asked {
		if err := v.worth(r); err != nil {
			return nil, err
		}
	}
	if v.Docket != "" {
		if err := v.docket(r); err != nil {
			return nil, fmt.Errorf("--docket: %w", err)
		}
	}
	return r, nil
}

// docket turns what was delivered into every unit.
func (v *gasVerb) docket(r *gasReport) error {
	d := contents.Docket{PumpKelvin: r.Kelvin}
	if volume, err := quantity.ParseCubicMetre(v.Docket); err == nil {
		d.Amount = float64(volume)
		if v.DocketAt15 {
			d.Basis = contents.LitresAt15
		}
	} else if mass, massErr := quantity.ParseKilogram(v.Docket); massErr == nil {
		d.Amount, d.Basis = float64(mass), contents.Kilograms
	} else {
		return fmt.Errorf("%q is neither litres nor kilograms; write it like 32.4L or 17kg", v.Docket)
	}
	if r.Capacity == 0 {
		return errors.New("state --water-capacity, so that the rise of the level can be told")
	}
	delivered, err := d.Deliver(contents.MixDensities(r.Mix), float64(r.Capacity), r.Kelvin)
	if err != nil {
		return err
	}
	r.Delivered = &delivered
	return nil
}

// mix gives the mixture and its name.
func (v *gasVerb) mix(findings *[]finding.Finding) (contents.Mix, string, error) {
	none := contents.Mix{}
	given := v.Propane != "" || v.Butane != "" || v.Isobutane != ""
	switch {
	case v.Mix != "" && given:
		return none, "", errors.New("--mix and --propane, --butane or --isobutane both say what it is; leave one of them out")
	case v.Mix != "":
		m, note, err := contents.Preset(v.Mix)
		if err != nil {
			return none, "", fmt.Errorf("--mix: %w", err)
		}
		*findings = append(*findings, finding.Finding{Kind: "mixture", Weight: finding.Note, Text: telling.Sentence(v.Mix + ": " + note)})
		return m, v.Mix, nil
	case !given:
		return none, "", errors.New("what is in the bottle? State --propane 0.6 --butane 0.4, or a name such as --mix G31 (--mix help lists them)")
	}
	var parts [3]float64
	for i, p := range []struct{ flag, text string }{{"--propane", v.Propane}, {"--butane", v.Butane}, {"--isobutane", v.Isobutane}} {
		if p.text == "" {
			continue
		}
		number, percent := strings.CutSuffix(strings.TrimSpace(p.text), "%")
		part, err := quantity.ParseNumber(number, true)
		if err != nil {
			return none, "", fmt.Errorf("%s %q isn't a part; write it like 0.6 or 60%%", p.flag, p.text)
		}
		if percent {
			part /= 100
		}
		parts[i] = part
	}
	make, of := contents.NewMix, "mass"
	if v.ByVolume {
		make, of = contents.MixByVolume, "volume"
	}
	m, err := make(parts[0], parts[1], parts[2])
	if err != nil {
		return none, "", fmt.Errorf("--propane, --butane, --isobutane: %w", err)
	}
	return m, mixName(parts, of), nil
}

// mixName names a mixture by its parts in percent.
func mixName(parts [3]float64, of string) string {
	var names, shares []string
	for i, name := range []string{"propane", "butane", "isobutane"} {
		if parts[i] > 0 {
			names, shares = append(names, name), append(shares, quantity.Short(parts[i]*100, 1))
		}
	}
	if len(names) == 1 {
		return names[0]
	}
	return strings.Join(names, "/") + " " + strings.Join(shares, "/") + " by " + of
}

// amount reads how much is in the tank.
func (v *gasVerb) amount(r *gasReport) error {
	stated := 0
	for _, text := range []string{v.Litres, v.Kg, v.Level} {
		if text != "" {
			stated++
		}
	}
	if stated > 1 {
		return errors.New("--litres, --kg and --level all say how much there is; state one of them")
	}
	if stated == 0 {
		if v.Burn != "" || v.Price != "" {
			return errors.New("how much is in it? State --litres, --kg or --level")
		}
		return nil
	}
	r.Asked = true
	switch {
	case v.Litres != "":
		number, err := quantity.ParseNumber(strings.TrimRight(strings.TrimSpace(v.Litres), " Ll"), true)
		if err != nil || !(number >= 0) {
			return fmt.Errorf("--litres %q isn't a number of litres; write it like 34", v.Litres)
		}
		r.Liquid = quantity.CubicMetre(number / 1000)
	case v.Level != "":
		share, err := quantity.ParseShare(v.Level)
		if err != nil {
			return fmt.Errorf("--level: %w", err)
		}
		if !(share >= 0 && share <= 1) {
			return fmt.Errorf("--level: found %s; expected 0%% to 100%%", share)
		}
		if r.Capacity == 0 {
			return errors.New("--level is a part of the water capacity; state --water-capacity")
		}
		r.Liquid = quantity.CubicMetre(share) * r.Capacity
	default:
		mass, err := quantity.ParseKilogram(v.Kg)
		if err != nil {
			return fmt.Errorf("--kg: %w", err)
		}
		if !(mass >= 0) {
			return fmt.Errorf("--kg: found %s; expected 0kg or more", mass)
		}
		if r.Capacity == 0 {
			r.Liquid = quantity.CubicMetre(float64(mass) / r.Now.Liquid)
			break
		}
		liquid := (float64(mass) - r.Now.Vapour*float64(r.Capacity)) / (r.Now.Liquid - r.Now.Vapour)
		switch {
		case liquid < 0:
			return fmt.Errorf("--kg: %s in %s at %s are vapour alone, which isn't reckoned with; expected %s or more",
				mass, r.Capacity, quantity.Kelvin(r.Kelvin), quantity.Kilogram(r.Now.Vapour*float64(r.Capacity)))
		case liquid > float64(r.Capacity):
			return fmt.Errorf("--kg: %s don't fit: at %s a tank of %s holds %s of it when it is full to the brim, and it must never be",
				mass, quantity.Kelvin(r.Kelvin), r.Capacity, quantity.Kilogram(math.Floor(r.Now.Liquid*float64(r.Capacity)*100)/100))
		}
		r.Liquid = quantity.CubicMetre(liquid)
	}
	if r.Capacity > 0 && r.Liquid > r.Capacity {
		return fmt.Errorf("%s of liquid don't fit into a tank of %s", r.Liquid, r.Capacity)
	}
	return nil
}

// worth works out what the amount is worth.
func (v *gasVerb) worth(r *gasReport) error {
	if err := r.Weigh(); err != nil {
		return err
	}
	share, err := quantity.ParseShare(v.Doubt)
	if err != nil || !(share >= 0 && share < 0.5) {
		return fmt.Errorf("--doubt %q isn't the doubt of an amount; write it like 2%%", v.Doubt)
	}
	capacity := r.Capacity
	if capacity == 0 {
		capacity = r.Liquid // the liquid alone
	}
	r.u = float64(share) * float64(capacity) * (r.Now.Liquid - r.Now.Vapour)
	if r.Capacity > 0 {
		found, err := r.Warm()
		if err != nil {
			return err
		}
		r.findings = append(r.findings, found...)
	}
	if err := v.burning(r); err != nil {
		return err
	}
	return v.filling(r)
}

// burning tells how long it lasts, and whether the tank can give so much vapour.
func (v *gasVerb) burning(r *gasReport) error {
	if v.Burn == "" {
		if v.Hours != "" {
			return errors.New("--hours needs --burn, such as 2.2kW")
		}
		return nil
	}
	load := contents.Load{Name: "what burns it", HoursPerDay: contents.Exactly(24)}
	if power, err := quantity.ParseWatt(v.Burn); err == nil {
		load.Kind, load.Rate = contents.Watts, contents.Exactly(float64(power))
		load.Plate = map[string]contents.Plate{"net": contents.PlateNet, "gross": contents.PlateGross}[v.Plate]
	} else if rate, massErr := quantity.ParseMassRate(v.Burn); massErr == nil {
		load.Kind, load.Rate = contents.KilogramsPerSecond, contents.Exactly(float64(rate))
	} else {
		return fmt.Errorf("--burn %q isn't a rate; write it like 2.2kW or 160g/h", v.Burn)
	}
	if !(load.Rate.Low > 0) {
		return fmt.Errorf("--burn: found %s; expected more than nothing", v.Burn)
	}
	r.load = &load
	net, gross := r.Mix.Heating()
	supply := contents.Supply{Name: "gas", Left: contents.Known{Value: r.Kilograms(), U: r.u}, Density: r.Now.Liquid, NetHeat: net, GrossHeat: gross}
	hours, err := contents.BurnTime(supply, load)
	if err != nil {
		return fmt.Errorf("--burn: %w", err)
	}
	r.Hours = &hours
	if v.Hours != "" {
		perDay, err := quantity.ParseSecond(v.Hours)
		if err != nil {
			return fmt.Errorf("--hours: %w", err)
		}
		if !(perDay > 0 && perDay <= 24*3600) {
			return fmt.Errorf("--hours: found %s; expected more than 0h, up to 24h", v.Hours)
		}
		load.HoursPerDay = contents.Exactly(float64(perDay) / 3600)
		lasting, err := contents.Lasts(supply, []contents.Load{load})
		if err != nil {
			return fmt.Errorf("--hours: %w", err)
		}
		r.Days = &lasting.Left
	}
	if r.Capacity == 0 || r.Liquid == 0 {
		return nil
	}
	give, found, err := r.Offtake(supply, load)
	if err != nil {
		return err
	}
	r.offtake = &give
	r.findings = append(r.findings, found)
	return nil
}

// filling tells what to ask for at the pump.
func (v *gasVerb) filling(r *gasReport) error {
	if v.Price == "" && r.Capacity == 0 || r.Capacity == 0 {
		if v.Price != "" {
			return errors.New("--price is for what to ask for at the pump, which needs --water-capacity")
		}
		return nil
	}
	f := contents.Filling{Name: "gas", Gas: true, Capacity: float64(r.Capacity), Permitted: float64(r.Permitted),
		Present: contents.Known{Value: float64(r.Liquid), U: r.u / (r.Now.Liquid - r.Now.Vapour)}, TankKelvin: r.Kelvin, PumpKelvin: r.Kelvin,
		Densities: func(kelvin float64) (float64, float64, error) {
			s, err := r.Mix.At(kelvin)
			return s.Liquid, s.Vapour, err
		}}
	if v.Price != "" {
		amount, unit, ok := strings.Cut(v.Price, "/")
		per, err := quantity.ParseNumber(strings.TrimSpace(amount), true)
		unit = strings.TrimSpace(unit)
		if err != nil || !ok || !(per > 0) || unit != "L" && unit != "l" && unit != "kg" {
			return fmt.Errorf("--price %q isn't a price; write it like 0.9/L or 2.4/kg", v.Price)
		}
		f.Price = contents.Price{Per: per, Basis: contents.LitresMetered}
		if unit == "kg" {
			f.Price.Basis = contents.Kilograms
		}
	}
	ask, err := contents.Fill(f)
	if err != nil {
		return err
	}
	r.Ask = &ask
	for _, found := range ask.Findings {
		switch found.Kind {
		case "overfull", "filling-stop": // have been said, or are said with the figure
		default:
			found.Text = telling.Sentence(found.Text)
			r.findings = append(r.findings, found)
		}
	}
	return nil
}

// listMixes tells the mixtures that have names.
func listMixes(w io.Writer) error {
	for _, p := range contents.Presets() {
		writeWrapped(w, "- ", p.Name+": "+p.Note+".")
	}
	return nil
}
