package stops

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"ampleway/energy/taper"
)

// The lattice by itself, before anything is polished. Both chargers are musts,
// 60 kW and then 30 kW; the second stay lasts 700 s anyhow, which charges 700/7200
// of the battery there. So the first is left with that much less than the 90 %
// that the two drives of 40 % and the reserve take, for which no grid has a
// place: 3 h of driving, 600 s of overheads, (0.9 − 700/7200 − 0.4) · 3,600 s and
// 700 s.
func TestLatticeByHand(t *testing.T) {
	var funcs [2]*taper.Func
	for i, kW := range []float64{60, 30} {
		var err error
		if funcs[i], err = taper.New(taper.Flat(kW), 60); err != nil {
			t.Fatal(err)
		}
	}
	hour := Leg{TimeS: 3600, NeedKWh: 24, CostKWh: 24}
	p := &Problem{
		CapacityKWh: 60, DepartSoC: 0.8, ReserveSoC: 0.1, Road: [][]Leg{{hour, hour, hour}},
		Chargers: []Charger{
			{Power: funcs[0], ReserveSoC: 0.1, OverheadS: 300, Use: MustStop},
			{Power: funcs[1], ReserveSoC: 0.1, OverheadS: 300, Use: MustStop, LeastStayS: 700},
		},
	}
	s, err := new(Planner).Sweep(p)
	if err != nil {
		t.Fatal(err)
	}
	choices := []choice{{node: 1}, {node: 2}, {node: 3}}
	value := newSearch(s, p, slacks[0]).lattice(choices)
	want := 3*3600 + 600 + (0.9-700.0/7200-0.4)*3600 + 700
	if math.Abs(value-want) > 1e-4 {
		t.Errorf("%v s, want %v", value, want)
	}
	if x, want := choices[0].leaveSoC, 0.9-700.0/7200; math.Abs(x-want) > 1e-9 {
		t.Errorf("leaves the first with %v, want %v", x, want)
	}
	if x := choices[1].leaveSoC; math.Abs(x-0.5) > 1e-9 {
		t.Errorf("leaves the second with %v, want 0.5", x)
	}
}

// A moment enters unless one that entered before is no dearer and no later,
// give or take the slack; without a clock, unless one is no dearer.
func TestFrontAgainstLookingAtAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := &search{clocked: rapid.Bool().Draw(t, "clocked"), w: weights{perS: 1}}
		slackS := float64(rapid.IntRange(0, 2).Draw(t, "slack"))
		var entered []moment
		for range rapid.IntRange(1, 60).Draw(t, "moments") {
			m := moment{float64(rapid.IntRange(0, 12).Draw(t, "spent")), float64(rapid.IntRange(0, 12).Draw(t, "clock"))}
			want := true
			for _, e := range entered {
				if e.spent <= m.spent+slackS+1e-9 && (!q.clocked || e.clock <= m.clock+slackS) {
					want = false
				}
			}
			got := q.enter(m, slackS)
			if got != want {
				t.Fatalf("%v enters %v within %v s: %v, looking at all %v", m, entered, slackS, got, want)
			}
			if got {
				entered = append(entered, m)
			}
			for i := 1; i < len(q.front); i++ {
				if q.front[i].spent < q.front[i-1].spent || q.clocked && q.front[i].clock > q.front[i-1].clock {
					t.Fatalf("the front %v is out of order", q.front)
				}
			}
		}
	})
}
