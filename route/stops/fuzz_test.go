package stops_test

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"

	"ampleway/energy/taper"
	"ampleway/route/stops"
)

// numbers reads wild values from bytes: mostly sane ones, some at the edge.
type numbers struct{ data []byte }

func (r *numbers) byte() byte {
	if len(r.data) == 0 {
		return 0
	}
	b := r.data[0]
	r.data = r.data[1:]
	return b
}

// value is from 0 to most, or now and then something else.
func (r *numbers) value(most float64) float64 {
	b := r.byte()
	switch b {
	case 255:
		return math.NaN()
	case 254:
		return math.Inf(1)
	case 253:
		return -most
	case 252:
		return 1e300
	case 251:
		return 5e-324
	case 250:
		return 0
	}
	return most * float64(binary.LittleEndian.Uint16([]byte{r.byte(), b})) / 63999
}

func (r *numbers) leg() stops.Leg {
	l := stops.Leg{TimeS: r.value(7000), CostKWh: r.value(30)}
	l.NeedKWh = l.CostKWh
	if r.byte()%4 == 0 {
		l.NeedKWh, l.CostKWh, l.CapKWh = r.value(30), r.value(40)-20, r.value(90)
	}
	return l
}

func (r *numbers) problem() *stops.Problem {
	p := &stops.Problem{CapacityKWh: r.value(90), DepartSoC: r.value(1), ReserveSoC: r.value(0.3), DepartS: r.value(1000)}
	n := int(r.byte() % 7)
	p.Road = make([][]stops.Leg, 1+r.byte()%2)
	for o := range p.Road {
		for range n + 1 {
			p.Road[o] = append(p.Road[o], r.leg())
		}
	}
	for range n {
		var c taper.Curve
		soc := 0.0
		for range 1 + r.byte()%5 {
			c = append(c, taper.Point{SoC: soc, PowerKW: r.value(200)})
			soc += r.value(0.5)
		}
		f, err := taper.New(c, p.CapacityKWh)
		if err != nil {
			f = nil
		}
		g := stops.Charger{Power: f, OverheadS: r.value(600), ReserveSoC: r.value(0.3), CeilingSoC: r.value(1)}
		kind := r.byte()
		if kind&1 != 0 {
			g.In, g.Out = r.leg(), r.leg()
		}
		if kind&2 != 0 {
			g.Price = stops.Price{PerKWh: r.value(1), PerMinute: r.value(1), PerSession: r.value(5), IdlePerMinute: r.value(1), IdleAfterS: r.value(3000)}
		}
		if kind&4 != 0 {
			g.LeastStayS, g.MostStayS = r.value(1000), r.value(4000)
		}
		if kind&8 != 0 {
			g.Periods = []stops.Period{{FromS: r.value(9000), WaitS: r.value(900), Closed: kind&16 != 0}, {FromS: 9000 + r.value(9000), Price: g.Price}}
		}
		if kind > 240 {
			g.Use = stops.Use(kind % 4)
		}
		p.Chargers = append(p.Chargers, g)
	}
	p.Objective = stops.Objective{Goal: stops.Goal(r.byte() % 5), MoneyPerHour: r.value(50)}
	p.MostStops = int(r.byte()%6) - 1
	if r.byte()%4 == 0 {
		p.Rest = stops.Rest{LeastS: r.value(3000), FromS: r.value(9000), ToS: r.value(20000)}
	}
	return p
}

// FuzzSolve: whatever the problem, there is a plan that keeps every limit, or
// a named error.
func FuzzSolve(f *testing.F) {
	for seed := range 64 {
		data := make([]byte, 400)
		for i := range data {
			data[i] = byte((i*i*31 + seed*97 + i*seed) % 250)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p := (&numbers{data}).problem()
		plan, err := stops.Solve(p)
		var bad *stops.InputError
		var no *stops.Infeasible
		switch {
		case errors.As(err, &bad):
			if p.Validate() == nil {
				t.Fatalf("%v, but the problem is valid", err)
			}
		case errors.As(err, &no):
			if !errors.Is(err, stops.ErrNoPlan) || math.IsNaN(no.MissingKWh) {
				t.Fatalf("%+v", no)
			}
		case err != nil:
			t.Fatalf("an error of no kind: %v", err)
		default:
			if err := stops.Verify(p, plan); err != nil {
				t.Fatalf("%v\n%+v", err, plan)
			}
			if math.IsNaN(plan.Value + plan.Bound + plan.TimeS + plan.Money + plan.ArriveSoC) {
				t.Fatalf("not a number in %+v", plan)
			}
		}
	})
}
