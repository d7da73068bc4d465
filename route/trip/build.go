package trip

import (
	"fmt"
	"math"

	"ampleway/energy"
	"ampleway/route/stops"
)

// build turns the planner's answer into a Plan by driving it once more along
// the profile.
func (d *Drive) build(g Goal, exact *stops.Plan) (*Plan, error) {
	p := &Plan{Drive: d, Goal: g, Exact: *exact, LeastSoC: g.DepartSoC}
	b := builder{plan: p, drive: d, capacityKWh: d.Profile.CapacityKWh(), kWh: g.DepartSoC * d.Profile.CapacityKWh()}
	b.track(0)
	for i := range exact.Stops {
		b.leg(&d.Chargers[exact.Stops[i].Charger], g.ReserveSoC)
		b.stop(&exact.Stops[i])
	}
	b.leg(nil, g.ArriveReserveSoC)
	p.ArriveSoC = b.kWh / b.capacityKWh
	p.TimeS = b.timeS
	p.sum()
	if err := p.agree(); err != nil {
		return nil, err
	}
	return p, nil
}

type builder struct {
	plan        *Plan
	drive       *Drive
	capacityKWh float64
	kWh         float64 // in the battery
	timeS       float64 // since departure
	atM         float64 // chainage
	at          *Charger
}

// leg drives from where the car is to a charger, or to the destination.
func (b *builder) leg(to *Charger, reserveSoC float64) {
	d := b.drive
	toM, in := d.Profile.LengthM(), energy.Leg{CapKWh: b.capacityKWh}
	leg := Leg{From: d.placeName(b.at, true), To: d.placeName(to, false), FromM: b.atM, ReserveSoC: reserveSoC}
	if to != nil {
		toM, in = to.ChainageM, to.In
	}
	out := energy.Leg{CapKWh: b.capacityKWh}
	if b.at != nil {
		out = b.at.Out
	}
	whole := out.Then(d.Profile.Leg(b.atM, toM)).Then(in)

	departKWh := b.kWh
	leg.LeastSoC, leg.LeastAtM = math.Inf(1), b.atM
	b.piece(out, b.atM, &leg)
	b.road(toM, &leg)
	b.piece(in, toM, &leg)

	leg.ToM = toM
	leg.DistanceM = whole.DistanceM
	leg.TimeS = whole.TimeS
	leg.EnergyKWh = departKWh - b.kWh
	leg.LostKWh = leg.EnergyKWh - whole.CostKWh
	leg.DepartSoC = departKWh / b.capacityKWh
	leg.ArriveSoC = b.kWh / b.capacityKWh
	floorKWh := b.plan.Goal.floorSoC() * b.capacityKWh
	leg.Headroom = headroom(whole, departKWh, floorKWh, reserveSoC*b.capacityKWh)
	leg.ToEmpty = headroom(whole, departKWh, 0, 0)
	b.plan.Legs = append(b.plan.Legs, leg)
}

// headroom returns the share h by which all consumption on a leg may rise
// before the battery goes below floorKWh on the way or arriveKWh at its end:
// (1+h) need ≤ depart − floor and (1+h) cost ≤ depart − arrive.
func headroom(leg energy.Leg, departKWh, floorKWh, arriveKWh float64) float64 {
	h := math.Inf(1)
	if leg.NeedKWh > 0 {
		h = (departKWh - floorKWh) / leg.NeedKWh
	}
	if leg.CostKWh > 0 {
		h = math.Min(h, (departKWh-arriveKWh)/leg.CostKWh)
	}
	return h - 1
}

// road drives the main road in short pieces, so that the lowest point and the
// regeneration lost into a full battery are found where they are.
func (b *builder) road(toM float64, leg *Leg) {
	pieces := math.Ceil((toM - b.atM) / trackStepM)
	fromM := b.atM
	for i := 1.0; i <= pieces; i++ {
		endM := fromM + (toM-fromM)*i/pieces
		b.piece(b.drive.Profile.Leg(b.atM, endM), endM, leg)
	}
}

// trackStepM is the longest piece of a Track.
const trackStepM = 1000.0

func (b *builder) piece(e energy.Leg, endM float64, leg *Leg) {
	low := (b.kWh - e.NeedKWh) / b.capacityKWh
	b.kWh, _ = e.ArriveKWh(b.kWh)
	b.timeS += e.TimeS
	if low < leg.LeastSoC {
		leg.LeastSoC, leg.LeastAtM = low, endM
	}
	b.atM = endM
	b.track(endM)
}

func (b *builder) track(chainageM float64) {
	b.plan.Track = append(b.plan.Track, TrackPoint{ChainageM: chainageM, SoC: b.kWh / b.capacityKWh, TimeS: b.timeS})
}

func (b *builder) stop(e *stops.Stop) {
	c := &b.drive.Chargers[e.Charger]
	leaveSoC := e.LeaveSoC
	if e.LeaveSoC == e.ArriveSoC {
		leaveSoC = b.kWh / b.capacityKWh // nothing is charged, by rounding neither
	}
	s := Stop{
		Charger:    c,
		ArriveS:    b.timeS,
		ArriveSoC:  b.kWh / b.capacityKWh,
		LeaveSoC:   leaveSoC,
		DetourS:    c.In.TimeS + c.Out.TimeS,
		OverheadS:  e.OverheadS,
		WaitS:      e.WaitS + e.StayS - e.ChargeS,
		ChargeS:    c.Charge.TimeS(b.kWh/b.capacityKWh, leaveSoC),
		PowerInKW:  c.Charge.PowerKW(b.kWh / b.capacityKWh),
		PowerOutKW: c.Charge.PowerKW(leaveSoC),
		Meal:       e.Rest,
	}
	s.BatteryKWh = math.Max(leaveSoC*b.capacityKWh-b.kWh, 0) // no less by rounding
	s.BilledKWh = energy.GridKWh(s.BatteryKWh)
	s.MealFromS = b.timeS + s.OverheadS + e.WaitS
	b.timeS += s.OverheadS + s.WaitS + s.ChargeS
	s.LeaveS = b.timeS
	s.DwellS = s.DetourS + s.LeaveS - s.ArriveS
	b.kWh = leaveSoC * b.capacityKWh
	b.at = c
	s.Cost = b.plan.cost(&s)
	b.plan.Stops = append(b.plan.Stops, s)
	b.track(b.atM)
}

// sum fills the totals from stops and legs.
func (p *Plan) sum() {
	p.Headroom, p.ToEmpty = math.Inf(1), math.Inf(1)
	for i, l := range p.Legs {
		p.DistanceM += l.DistanceM
		p.DriveS += l.TimeS
		p.DrivenKWh += l.EnergyKWh
		if l.LeastSoC < p.LeastSoC {
			p.LeastSoC, p.LeastAtM = l.LeastSoC, l.LeastAtM
		}
		if l.Headroom < p.Headroom {
			p.Headroom, p.HeadroomLeg = l.Headroom, i
		}
		if l.ToEmpty < p.ToEmpty {
			p.ToEmpty, p.ToEmptyLeg = l.ToEmpty, i
		}
	}
	for i := range p.Stops {
		p.ChargeS += p.Stops[i].ChargeS
		p.StopS += p.Stops[i].LeaveS - p.Stops[i].ArriveS
		p.ChargedKWh += p.Stops[i].BatteryKWh
	}
	p.addCosts()
}

// agree compares the drive along the profile with the planner's own figures
// and with the reserves: a plan that fails here is never shown.
func (p *Plan) agree() error {
	const socSlack, timeSlackS = 1e-6, 1e-3
	if math.Abs(p.TimeS-p.Exact.TimeS) > timeSlackS || math.Abs(p.ArriveSoC-p.Exact.ArriveSoC) > socSlack {
		return fmt.Errorf("trip: the plan does not replay: %.3f s and %.6f on arrival, planned %.3f s and %.6f", p.TimeS, p.ArriveSoC, p.Exact.TimeS, p.Exact.ArriveSoC)
	}
	for i, l := range p.Legs {
		if l.ArriveSoC < l.ReserveSoC-socSlack || l.LeastSoC < p.Goal.floorSoC()-socSlack {
			return fmt.Errorf("trip: the plan breaks a reserve on leg %d: %.6f on arrival, %.6f at the least", i+1, l.ArriveSoC, l.LeastSoC)
		}
	}
	return nil
}
