package trip

import (
	"errors"
	"math"
	"slices"
	"testing"

	"ampleway/energy"
	"ampleway/route/stops"
)

// Killing each planned stop in turn strands no one where fallbacks are
// required: the car is driven to the dead charger and to the stated fallback
// in steps of 500 m, and the planner, asked afresh from there with the dead
// site taken away, finds a way on that takes as long as was said.
func TestKilledStopStrandsNoOne(t *testing.T) {
	corridors := howMany(15, 2000)
	fleet := builtInCars(t)
	possible, tried, killed, stranded, unsafe, changed, back, impossible := 0, 0, 0, 0, 0, 0, 0, 0
	var priceS, lateS []float64
	for seed := uint64(1); possible < corridors; seed++ {
		tried++
		drive, goal := randomTrip(t, fleet, seed)
		plain, err := drive.Plan(nil, goal)
		if errors.Is(err, stops.ErrNoPlan) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if unsafeStops(t, plain) > 0 {
			unsafe++
		}
		goal.Fallback = true
		p, err := drive.Plan(nil, goal)
		if errors.Is(err, stops.ErrNoPlan) {
			impossible++
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		possible++
		priceS = append(priceS, p.TimeS-plain.TimeS)
		if p.TimeS > plain.TimeS+1 {
			changed++
		}
		if p.TimeS < plain.TimeS-1e-6 {
			t.Errorf("corridor %d: a demand makes the trip quicker by %g s", seed, plain.TimeS-p.TimeS)
		}
		if err := p.fallBack(&stops.Planner{}, nil); err != nil {
			t.Fatal(err)
		}
		for i := range p.Stops {
			killed++
			if p.Fallbacks[i].None || !survives(t, p, i) {
				stranded++
				t.Errorf("corridor %d: stop %d of %d strands the car", seed, i+1, len(p.Stops))
				continue
			}
			if p.Fallbacks[i].Back {
				back++
			}
			lateS = append(lateS, p.Fallbacks[i].LateS)
		}
	}
	slices.Sort(priceS)
	slices.Sort(lateS)
	t.Logf("%d corridors with fallbacks (%d drawn; %d have a plan, but none with a fallback for every stop)", possible, tried, impossible)
	t.Logf("%d stops killed, %d stranded; %d fallbacks drive back", killed, stranded, back)
	t.Logf("without the demand %d of the %d plans have a stop without a fallback", unsafe, possible+impossible)
	t.Logf("price of the demand: none in %d corridors; mean %.1f min, 95 %% %.1f min, most %.1f min", possible-changed, mean(priceS)/60, quantile(priceS, 0.95)/60, priceS[len(priceS)-1]/60)
	t.Logf("a killed stop then costs: mean %.1f min, median %.1f min, 95 %% %.1f min", mean(lateS)/60, quantile(lateS, 0.5)/60, quantile(lateS, 0.95)/60)
	if killed < corridors/2 || unsafe == 0 {
		t.Errorf("the draw shows nothing: %d stops killed, %d plans unsafe without the demand", killed, unsafe)
	}
}

func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}

func unsafeStops(t *testing.T, p *Plan) int {
	t.Helper()
	if err := p.fallBack(&stops.Planner{}, nil); err != nil {
		t.Fatal(err)
	}
	n := 0
	for i := range p.Fallbacks {
		if p.Fallbacks[i].None {
			n++
		}
	}
	return n
}

// survives drives to stop i, finds it dead, drives to its fallback and plans
// on from there.
func survives(t *testing.T, p *Plan, i int) bool {
	t.Helper()
	d, f, stop := p.Drive, &p.Fallbacks[i], p.Stops[i].Charger
	capacity := d.Profile.CapacityKWh()
	kWh, fromM := p.Goal.DepartSoC*capacity, 0.0
	if i > 0 {
		before := &p.Stops[i-1]
		kWh, fromM = before.LeaveSoC*capacity-before.Charger.Out.CostKWh, before.Charger.ChainageM
	}
	kWh = inSteps(d.Profile, fromM, stop.ChainageM, kWh) - stop.In.CostKWh
	if math.Abs(kWh/capacity-p.Stops[i].ArriveSoC) > 1e-6 {
		t.Errorf("driven in steps the stop is reached with %.6f, planned %.6f", kWh/capacity, p.Stops[i].ArriveSoC)
	}
	kWh -= stop.Out.CostKWh
	toM := d.Profile.LengthM()
	if f.To != nil {
		toM = f.To.ChainageM
	}
	if f.Back {
		reverse, err := energy.NewProfile(d.Car, readyCabin(d.Conditions), steps(d.Corridor.Route.Reverse(), d.Options))
		if err != nil {
			t.Fatal(err)
		}
		kWh = inSteps(reverse, reverse.LengthM()-stop.ChainageM, reverse.LengthM()-toM, kWh)
	} else {
		kWh = inSteps(d.Profile, stop.ChainageM, toM, kWh)
	}
	if f.To != nil {
		kWh -= f.To.In.CostKWh
	}
	floor := p.Goal.fallbackFloorSoC()
	if f.To == nil {
		floor = p.Goal.ArriveReserveSoC
	}
	if kWh/capacity < floor-1e-6 || math.Abs(kWh/capacity-f.ArriveSoC) > 1e-6 {
		t.Logf("the fallback is reached with %.6f, said %.6f, floor %.6f", kWh/capacity, f.ArriveSoC, floor)
		return false
	}
	onwardS := 0.0
	if f.To != nil {
		plan, err := stops.Solve(fromStall(p, stop, f.To, kWh/capacity))
		if err != nil {
			t.Log(err)
			return false
		}
		onwardS = plan.TimeS
	}
	late := p.Stops[i].ArriveS + p.Stops[i].OverheadS + f.DriveS + onwardS - p.TimeS
	if math.Abs(late-f.LateS) > 0.01 {
		t.Errorf("planned afresh the trip is %.2f s late, said %.2f s", late, f.LateS)
	}
	return true
}

func readyCabin(c energy.Conditions) energy.Conditions {
	c.CabinReady = true
	return c
}

// inSteps drives in steps of 500 m and returns what is left, −Inf once the
// battery has been empty.
func inSteps(p interface {
	EnergyKWh(chainageM float64) float64
	CapacityKWh() float64
}, fromM, toM, kWh float64) float64 {
	for fromM < toM {
		endM := math.Min(fromM+500, toM)
		kWh = math.Min(kWh-p.EnergyKWh(endM)+p.EnergyKWh(fromM), p.CapacityKWh())
		if kWh < -1e-9 {
			return math.Inf(-1)
		}
		fromM = endM
	}
	return kWh
}

// fromStall is the rest of a trip for a car that stands at a stall, with one
// site dead.
func fromStall(p *Plan, dead, at *Charger, soc float64) *stops.Problem {
	d := p.Drive
	goal := p.Goal
	goal.Fallback = false
	whole := d.Problem(goal)
	first := slices.IndexFunc(d.Chargers, func(c Charger) bool { return c.Site == at.Site && c.ChainageM == at.ChainageM })
	rest := *whole
	rest.DepartSoC = soc
	rest.Chargers = slices.Clone(whole.Chargers[first:])
	rest.Road = [][]stops.Leg{slices.Clone(whole.Road[0][first:])}
	rest.Road[0][0] = stops.Leg{}
	rest.Chargers[0].In, rest.Chargers[0].ReserveSoC, rest.Chargers[0].Use = stops.Leg{}, 0, stops.MustStop
	for k := range rest.Chargers {
		if d.Chargers[first+k].Site == dead.Site {
			rest.Chargers[k].Use = stops.MustPass
		}
	}
	return &rest
}
