package stops

import "math"

// Policy is what a driver does: at the origin where to go first, at a charger
// with what to leave and where to go next, whatever is in the battery. It
// returns false where nothing leads on.
type Policy func(place int, soc float64) (Decision, bool)

// Policy is the best one of a sweep.
func (s *Sweep) Policy(place int, soc float64) (Decision, bool) {
	if place == Origin {
		return s.Depart(soc)
	}
	return s.Decide(place, soc)
}

// Keep is the policy that makes the stops of a plan and leaves them with what the
// plan says, or with what is there if that is more.
func (p *Plan) Keep(place int, soc float64) (Decision, bool) {
	at := 0
	d := Decision{LeaveSoC: soc, Next: Destination}
	if place != Origin {
		for at < len(p.Stops) && p.Stops[at].Charger != place {
			at++
		}
		if at == len(p.Stops) {
			return d, false
		}
		d.LeaveSoC, d.Rest = math.Max(soc, p.Stops[at].LeaveSoC), p.Stops[at].Rest
		at++
	}
	if at < len(p.Stops) {
		d.Next = p.Stops[at].Charger
	}
	return d, true
}

// Follow is what comes of a policy from a place on, at the first speed option:
// from the origin, or from the arrival at a charger, with soc in the battery.
// Whether the problem's limits are kept is for [Verify] to say. It returns false
// where the policy leads nowhere.
func (p *Problem) Follow(place int, soc float64, do Policy) (*Plan, bool) {
	out, clock := &Plan{}, p.DepartS
	if place != Origin {
		out.Stops = append(out.Stops, Stop{Charger: place, ArriveS: clock, ArriveSoC: soc})
	}
	for {
		d, ok := do(place, soc)
		if !ok {
			return nil, false
		}
		if place != Origin {
			s := &out.Stops[len(out.Stops)-1]
			s.LeaveSoC, s.Rest = math.Max(soc, d.LeaveSoC), d.Rest
			join, stayS := clock, 0.0
			if d.Rest {
				join, stayS = math.Max(clock, p.Rest.FromS-p.Chargers[place].OverheadS), p.Rest.LeastS
			}
			fillStop(p, s, join, stayS)
			clock, soc = s.LeaveS, s.LeaveSoC
			out.Money += s.Money
		}
		var driveS float64
		soc, driveS = p.drive(place, d.Next, soc)
		clock += driveS
		if place = d.Next; place == Destination {
			out.DriveS, out.ArriveS, out.ArriveSoC, out.TimeS = driveS, clock, soc, clock-p.DepartS
			out.Revalue(p)
			return out, true
		}
		out.Stops = append(out.Stops, Stop{Charger: place, DriveS: driveS, ArriveS: clock, ArriveSoC: soc})
	}
}

// drive is the drive from one place to another, piece by piece.
func (p *Problem) drive(from, to int, soc float64) (arriveSoC, driveS float64) {
	kWh := soc * p.CapacityKWh
	take := func(l Leg) {
		kWh, _ = l.ArriveKWh(kWh)
		driveS += l.TimeS
	}
	if from != Origin {
		take(p.Chargers[from].Out)
	}
	last := to
	if to == Destination {
		last = len(p.Chargers)
	}
	for i := from + 1; i <= last; i++ {
		take(p.Road[0][i])
	}
	if to != Destination {
		take(p.Chargers[to].In)
	}
	return kWh / p.CapacityKWh, driveS
}
