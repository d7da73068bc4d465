package stops

import (
	"fmt"
	"math"
)

// Broken says which limit a plan does not keep, or which of its figures is
// not what the problem gives.
type Broken struct {
	Stop int // index into Plan.Stops, or Destination
	What string
}

// Error gives the message on one line.
func (e *Broken) Error() string {
	if e.Stop < 0 {
		return "stops: plan at the destination: " + e.What
	}
	return fmt.Sprintf("stops: plan at stop %d: %s", e.Stop+1, e.What)
}

const (
	socSlack  = 1e-9 // of the battery, on every limit
	timeSlack = 1e-4 // s, on every figure
)

// Verify replays a plan piece by piece of the road and returns nil if it
// keeps every limit of the problem and states every figure rightly, else a
// [*Broken]. It shares no arithmetic with the planner but the charge time of
// [taper.Func].
func Verify(p *Problem, plan *Plan) error {
	v := verifier{p: p, plan: plan, clock: p.DepartS, kWh: p.DepartSoC * p.CapacityKWh}
	for i := range plan.Stops {
		v.stop(i)
	}
	v.destination()
	if v.err != nil {
		return v.err
	}
	return nil
}

type verifier struct {
	p     *Problem
	plan  *Plan
	at    int // turn-off the car is at
	clock float64
	kWh   float64
	money float64
	rest  bool
	err   *Broken
}

func (v *verifier) check(ok bool, stop int, format string, args ...any) {
	if !ok && v.err == nil {
		v.err = &Broken{stop, fmt.Sprintf(format, args...)}
	}
}

func (v *verifier) same(a, b float64, stop int, name string) {
	v.check(math.Abs(a-b) <= timeSlack, stop, "%s is stated as %v, but is %v", name, a, b)
}

// drive moves the car over one leg.
func (v *verifier) drive(l *Leg, stop int) float64 {
	slack := socSlack * v.p.CapacityKWh
	v.check(v.kWh >= l.NeedKWh-slack, stop, "a drive needs %v kWh, %v are left", l.NeedKWh, v.kWh)
	v.kWh, _ = l.ArriveKWh(v.kWh)
	v.kWh = math.Min(v.kWh, v.p.CapacityKWh)
	return l.TimeS
}

// road moves the car along the main road to a turn-off.
func (v *verifier) road(to, option, stop int) float64 {
	if option < 0 || option >= len(v.p.Road) || to <= v.at || to > len(v.p.Chargers)+1 {
		v.check(false, stop, "no road leads there at option %d", option)
		return 0
	}
	seconds := 0.0
	for ; v.at < to; v.at++ {
		seconds += v.drive(&v.p.Road[option][v.at], stop)
		passed := v.at // charger index of the turn-off just reached
		if v.at+1 < to {
			v.check(v.p.Chargers[passed].Use != MustStop, stop, "charger %d is a must and is passed", passed)
		}
	}
	return seconds
}

func (v *verifier) out(stop int) float64 {
	if v.at == 0 {
		return 0
	}
	return v.drive(&v.p.Chargers[v.at-1].Out, stop)
}

func (v *verifier) stop(i int) {
	s := &v.plan.Stops[i]
	if s.Charger < 0 || s.Charger >= len(v.p.Chargers) {
		v.check(false, i, "there is no charger %d", s.Charger)
		return
	}
	c := &v.p.Chargers[s.Charger]
	driveS := v.out(i) + v.road(s.Charger+1, s.Option, i) + v.drive(&c.In, i)
	v.clock += driveS
	arrive := v.kWh / v.p.CapacityKWh
	v.same(s.DriveS, driveS, i, "DriveS")
	v.same(s.ArriveS, v.clock, i, "ArriveS")
	v.check(c.Use != MustPass, i, "charger %d is not to be used", s.Charger)
	v.check(math.Abs(s.ArriveSoC-arrive) <= socSlack, i, "ArriveSoC is stated as %v, but is %v", s.ArriveSoC, arrive)
	v.check(arrive >= c.ReserveSoC-socSlack, i, "arrives with %v, below the reserve of %v", arrive, c.ReserveSoC)
	v.check(s.LeaveSoC >= s.ArriveSoC, i, "leaves with %v, less than %v on arrival", s.LeaveSoC, s.ArriveSoC)
	v.check(s.LeaveSoC <= math.Max(c.ceiling(), s.ArriveSoC)+socSlack && s.LeaveSoC <= 1+socSlack, i, "leaves with %v, above the ceiling of %v", s.LeaveSoC, c.ceiling())
	v.stay(s, c, i)
	v.kWh = s.LeaveSoC * v.p.CapacityKWh
}

// stay checks the times and the price at the stall.
func (v *verifier) stay(s *Stop, c *Charger, i int) {
	chargeS := c.Power.TimeS(s.ArriveSoC, s.LeaveSoC)
	v.same(s.ChargeS, chargeS, i, "ChargeS")
	v.check(s.StayS >= chargeS-timeSlack && s.StayS >= c.LeastStayS-timeSlack, i, "a stay of %v s is too short", s.StayS)
	v.check(c.MostStayS == 0 || s.StayS <= c.MostStayS+timeSlack, i, "a stay of %v s is longer than %v", s.StayS, c.MostStayS)
	v.same(s.OverheadS, c.OverheadS, i, "OverheadS")
	v.same(s.ChargeKWh, (s.LeaveSoC-s.ArriveSoC)*v.p.CapacityKWh, i, "ChargeKWh")
	v.check(s.WaitS >= -timeSlack, i, "a wait of %v s", s.WaitS)
	price := c.Price
	if len(c.Periods) > 0 {
		price = v.period(s, c, i)
	} else {
		v.check(s.WaitS <= timeSlack || s.Rest, i, "waits %v s for nothing", s.WaitS)
	}
	begins := v.clock + s.WaitS + s.OverheadS
	idleS := math.Max(0, s.StayS-price.IdleAfterS)
	money := price.PerSession + price.PerKWh*s.ChargeKWh + price.PerMinute*s.ChargeS/60 + price.IdlePerMinute*idleS/60
	v.same(s.Money, money, i, "Money")
	v.same(s.LeaveS, begins+s.StayS, i, "LeaveS")
	v.money += money
	v.clock = s.LeaveS
	if s.Rest {
		r := &v.p.Rest
		inTime := r.FromS == 0 && r.ToS == 0 || (begins >= r.FromS-timeSlack && begins <= r.ToS+timeSlack)
		v.check(inTime && s.StayS >= r.LeastS-timeSlack, i, "this stay is not the rest that is asked for")
		v.rest = true
	}
}

// period finds the period of a stop: the one that explains its wait.
func (v *verifier) period(s *Stop, c *Charger, i int) Price {
	for k := -1; k < len(c.Periods); k++ {
		from, to, queueS, closed, price := math.Inf(-1), math.Inf(1), 0.0, false, c.Price
		if k >= 0 {
			q := &c.Periods[k]
			from, queueS, closed, price = q.FromS, q.WaitS, q.Closed, q.Price
		}
		if k+1 < len(c.Periods) {
			to = c.Periods[k+1].FromS
		}
		joins := v.clock + s.WaitS - queueS
		if closed || joins < v.clock-timeSlack || joins < from-timeSlack || joins >= to+timeSlack {
			continue
		}
		if math.Abs(s.Money-price.Due(s.ChargeKWh, s.ChargeS, s.StayS)) > timeSlack {
			continue
		}
		for l := k + 1; l < len(c.Periods); l++ {
			if c.Periods[l].Closed {
				v.check(v.clock+s.WaitS+s.OverheadS+s.StayS <= c.Periods[l].FromS+timeSlack, i, "the stay goes on after closing at %v", c.Periods[l].FromS)
				break
			}
		}
		return price
	}
	v.check(false, i, "no period of charger %d explains a wait of %v s at that price", s.Charger, s.WaitS)
	return c.Price
}

func (v *verifier) destination() {
	p, plan := v.p, v.plan
	driveS := v.out(Destination) + v.road(len(p.Chargers)+1, plan.Option, Destination)
	v.clock += driveS
	arrive := v.kWh / p.CapacityKWh
	v.same(plan.DriveS, driveS, Destination, "DriveS")
	v.same(plan.ArriveS, v.clock, Destination, "ArriveS")
	v.same(plan.TimeS, v.clock-p.DepartS, Destination, "TimeS")
	v.same(plan.Money, v.money, Destination, "Money")
	v.check(math.Abs(plan.ArriveSoC-arrive) <= socSlack, Destination, "ArriveSoC is stated as %v, but is %v", plan.ArriveSoC, arrive)
	v.check(arrive >= p.ReserveSoC-socSlack, Destination, "arrives with %v, below the reserve of %v", arrive, p.ReserveSoC)
	v.check(p.MostStops == 0 || len(plan.Stops) <= p.MostStops, Destination, "%d stops, more than %d", len(plan.Stops), p.MostStops)
	v.check(plan.Bound <= plan.Value+timeSlack, Destination, "a value of %v below its bound %v", plan.Value, plan.Bound)
	v.value()
	v.check(p.Rest.LeastS == 0 || v.rest, Destination, "no rest is taken")
}

func (v *verifier) value() {
	plan, o := v.plan, v.p.Objective
	burdenS := 0.0
	for i := range plan.Stops {
		if c := plan.Stops[i].Charger; c >= 0 && c < len(v.p.Chargers) {
			burdenS += v.p.Chargers[c].BurdenS
			if plan.Stops[i].Rest {
				burdenS += v.p.Chargers[c].RestBurdenS
			}
		}
	}
	want := plan.TimeS + burdenS
	switch o.Goal {
	case LeastMoney:
		want = plan.Money + burdenS*o.MoneyPerHour/3600
	case TimeAndMoney:
		want = plan.Money + (plan.TimeS+burdenS)*o.MoneyPerHour/3600
	case FewestStops:
		want += stopWeightS * float64(len(plan.Stops))
	}
	slack := 2*timeSlack + tieMoneyPerS*(plan.TimeS+burdenS+tieStopS*float64(len(plan.Stops))) // ties are broken by time, then stops
	v.check(math.Abs(plan.Value-want) <= slack, Destination, "Value is stated as %v, but is %v", plan.Value, want)
}
