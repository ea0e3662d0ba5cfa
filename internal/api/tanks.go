package api

import "context"

// TankList is all tanks that may be looked at.
type TankList struct {
	Tanks []Tank `json:"tanks" nullable:"false" doc:"In the order of the pages."`
}

// LevelList is the levels of all tanks that may be looked at.
type LevelList struct {
	Levels []Level `json:"levels" nullable:"false" doc:"In the order of the tanks."`
}

func (a *API) tankOperations() {
	get(a, look, "list-tanks", "/tanks", "tanks", "The tanks that are watched",
		"What each tank is, and what its figures mean.",
		func(ctx context.Context, _ *struct{}) (TankList, error) {
			list := TankList{Tanks: []Tank{}}
			for _, t := range a.o.Watch.Tanks() {
				if whose(ctx).Sees(t.Name) {
					list.Tanks = append(list.Tanks, tankOf(t))
				}
			}
			return list, nil
		})
	get(a, look, "get-tank", "/tanks/{tank}", "tanks", "One tank",
		"What the tank is, and what came in for it since the watch was started.",
		func(ctx context.Context, in *TankPath) (TankWhole, error) {
			i, err := a.tankNo(ctx, in.Tank)
			if err != nil {
				return TankWhole{}, err
			}
			out := TankWhole{Tank: tankOf(a.o.Watch.Tanks()[i])}
			if counts := a.o.Watch.Counts(); i < len(counts) {
				out.Counts = countsOf(counts[i])
			}
			if p := a.o.Watch.Past(); p != nil {
				since, err := p.Since(ctx, in.Tank)
				if err != nil {
					return TankWhole{}, err
				}
				out.Since = when(since)
			}
			return out, nil
		})
	get(a, look, "get-level", "/tanks/{tank}/level", "levels", "The level of one tank",
		"What is in the tank now, how well that is known, and how old it is. A level that is old or doubtful is null; reason and last_good stand instead.",
		func(ctx context.Context, in *TankPath) (Level, error) {
			i, err := a.tankNo(ctx, in.Tank)
			if err != nil {
				return Level{}, err
			}
			return level(in.Tank, a.o.Watch.Levels(a.o.Now())[i], a.o.Zone), nil
		})
	get(a, look, "list-levels", "/levels", "levels", "The levels of all tanks",
		"The levels of all tanks at one moment.",
		func(ctx context.Context, _ *struct{}) (LevelList, error) { return LevelList{a.levels(whose(ctx))}, nil })
}

// levels gives those that someone sees.
func (a *API) levels(who Access) []Level {
	list := []Level{}
	tanks := a.o.Watch.Tanks()
	for i, l := range a.o.Watch.Levels(a.o.Now()) {
		if who.Sees(tanks[i].Name) {
			list = append(list, level(tanks[i].Name, l, a.o.Zone))
		}
	}
	return list
}
