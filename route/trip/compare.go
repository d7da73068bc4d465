package trip

import (
	"errors"

	"ampleway/energy"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/route/stops"
	"ampleway/stations"
)

// Case is one car on one day in a comparison.
type Case struct {
	Car *energy.Car
	Ask question.Question
}

// Compared is a case with its plan, or why there is none.
type Compared struct {
	Case
	Plan   *Plan
	NoPlan *NoPlan // set where Plan is nil
}

// Compare plans the same trip for every case, in their order. The stations
// are those that serve the road by the first case's request. The error is
// about a request that makes no sense; a trip that cannot be made is a result.
func Compare(r *route.Route, index *stations.Index, cases []Case) ([]Compared, error) {
	if len(cases) == 0 {
		return nil, nil
	}
	if err := judge(r); err != nil {
		return nil, err
	}
	corridor := NewCorridor(r, index, CorridorOptionsOf(&cases[0].Ask))
	var planner stops.Planner
	out := make([]Compared, len(cases))
	for i, c := range cases {
		out[i].Case = c
		drive, goal, err := prepare(corridor, c.Car, c.Ask)
		if err != nil {
			return nil, err
		}
		out[i].Plan, err = drive.Plan(&planner, goal)
		if err != nil && !errors.As(err, &out[i].NoPlan) {
			return nil, err
		}
	}
	return out, nil
}
