package app

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/internal/quantity"
	"gaugewright/internal/vehicle"
)

// OrdersHelp lists the orders that [Simulation.Order] takes, and "status", which
// is for whoever shows [Simulation.Standing].
func OrdersHelp() string {
	var b strings.Builder
	line := func(order, says string) { fmt.Fprintf(&b, "  %-24s %s\n", order, says) }
	for _, k := range vehicle.Kinds() {
		order := k.String() + " TANK"
		switch k {
		case vehicle.Broken, vehicle.Added, vehicle.Disagree:
			order += " [OHMS]"
		case vehicle.Late, vehicle.Stepped:
			order += " [TIME]"
		}
		line(order, k.Means())
	}
	line("mend TANK", "all is well again")
	line("fill TANK LITRES", "fill in, at most up to the permitted fill")
	line("draw TANK LITRES", "draw off")
	line("drive [town|road|track]", "drive off; town unless it says where")
	line("park", "stop and stand")
	line("status", "how it stands")
	line("quit", "end")
	return b.String()
}

// Order carries out an order from a person: "break fresh", "fill fresh 20L",
// "drive road". Several vehicles all obey where the tank is named without one. It
// gives what was done; quit says that it is to end. The error says what was
// found, and what was expected.
func (s *Simulation) Order(text string) (reply string, quit bool, err error) {
	words := strings.Fields(text)
	if len(words) == 0 {
		return "", false, nil
	}
	verb, rest := words[0], words[1:]
	s.mu.Lock()
	defer s.mu.Unlock()
	switch verb {
	case "quit":
		return "It ends.", true, nil
	case "help":
		return strings.TrimRight(OrdersHelp(), "\n"), false, nil
	case "park", "drive":
		reply, err = s.moved(verb, rest)
		return reply, false, err
	case "mend", "fill", "draw":
	default:
		if _, err := vehicle.ParseKind(verb); err != nil {
			return "", false, fmt.Errorf("there is no order %q; expected one of help's list", verb)
		}
	}
	if len(rest) == 0 {
		return "", false, fmt.Errorf("%s: which tank; expected one of %s", verb, strings.Join(s.names[0], ", "))
	}
	of, tank := s.meant(rest[0])
	if len(of) == 0 {
		return "", false, fmt.Errorf("%s: there is no tank %q; expected one of %s", verb, rest[0], strings.Join(s.names[0], ", "))
	}
	for _, v := range of {
		if reply, err = obey(v, verb, tank, strings.Join(rest[1:], " ")); err != nil {
			return "", false, err
		}
	}
	if len(of) > 1 {
		reply = fmt.Sprintf("%s (all %d vehicles)", reply, len(of))
	}
	return reply, false, nil
}

func (s *Simulation) moved(verb string, rest []string) (string, error) {
	way := vehicle.Parked
	if verb == "drive" {
		way = vehicle.Town
		if len(rest) > 0 {
			at := slices.Index([]string{"town", "road", "track"}, rest[0])
			if at < 0 {
				return "", fmt.Errorf("drive: %q is no way; expected town, road or track", rest[0])
			}
			way = []vehicle.Way{vehicle.Town, vehicle.Road, vehicle.Track}[at]
		}
	}
	for _, v := range s.fleet {
		v.Go(way)
	}
	if way == vehicle.Parked {
		return "It stands.", nil
	}
	return "It drives: " + way.String() + ".", nil
}

// meant gives the vehicles that a tank's name stands for, and its name there.
func (s *Simulation) meant(name string) ([]*vehicle.Vehicle, string) {
	for j, t := range s.o.Tanks {
		if t.Name == name {
			return s.fleet, name
		}
		for i := range s.fleet {
			if s.names[i][j] == name {
				return s.fleet[i : i+1], t.Name
			}
		}
	}
	return nil, ""
}

func obey(v *vehicle.Vehicle, verb, tank, amount string) (string, error) {
	switch verb {
	case "mend":
		n, err := v.Mend(tank)
		if n == 0 {
			return tank + ": nothing was amiss.", err
		}
		return tank + ": mended.", err
	case "fill", "draw":
		by, err := quantity.ParseCubicMetre(amount)
		if err != nil || by <= 0 {
			return "", fmt.Errorf("%s %s: found %q; expected a volume above 0, like 20L", verb, tank, amount)
		}
		if verb == "draw" {
			by = -by
		}
		in, err := v.Pour(tank, by)
		if err != nil {
			return "", err
		}
		text := fmt.Sprintf("%s: %.1f L from now on", tank, 1000*float64(in))
		if in < by {
			text += "; the permitted fill allows no more"
		} else if in > by {
			text += "; there is no more in it"
		}
		return text + ".", nil
	}
	k, err := vehicle.ParseKind(verb)
	if err != nil {
		return "", err
	}
	by, err := k.Amount(amount)
	if err != nil {
		return "", err
	}
	if err := v.Fault(vehicle.Fault{Tank: tank, Kind: k, By: by, From: v.Elapsed()}); err != nil {
		return "", err
	}
	short, _, _ := strings.Cut(k.Means(), ";")
	return fmt.Sprintf("%s: %s, until it is mended.", tank, short), nil
}
