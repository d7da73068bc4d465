package trip

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampleway/energy"
	"ampleway/energy/taper"
	"ampleway/route/earth"
	"ampleway/route/question"
	"ampleway/route/stops"
)

// Hardship is something that takes more than was estimated.
type Hardship uint8

// The hardships every plan is tried with.
const (
	Colder   Hardship = iota // by 10 °C
	Headwind                 // 20 km/h more against the line from start to destination
	Faster                   // by 10 km/h wherever the road allows FastRoadMS
	RoofBox                  // the car's own where its file has one, else one typical of a car
	Worn                     // a tenth of the battery's energy is gone
)

const (
	colderC      = 10.0
	headwindMS   = 20 / 3.6
	fasterMS     = 10 / 3.6
	wornShare    = 0.10
	boxMassKg    = 60.0 // common practice: the box and what is in it
	boxDragM2    = 0.20 // added drag area, common practice
	roofExtra    = "roof"
	roofBoxExtra = "roof box"
)

// Stress is a hardship and what comes of it.
type Stress struct {
	Hardship
	ArriveSoC float64 // at the destination, with the same stops left with the same states of charge; below 0: not reached; NaN: a leg takes more than a full battery
	LeastSoC  float64 // lowest on the way; below 0: the battery is empty before that; NaN as ArriveSoC
	BreaksLeg int     // the first leg that breaks a reserve; −1: every reserve is kept
	Plan      *Plan   // the best plan then, where a reserve breaks; nil where there is none
}

// Holds reports whether every reserve is kept with the plan as it is.
func (s *Stress) Holds() bool { return s.BreaksLeg < 0 }

// Text names the hardship.
func (h Hardship) Text(u question.Units) string {
	switch h {
	case Colder:
		if u == question.US {
			return fmt.Sprintf("%.0f °F colder", colderC*9/5)
		}
		return fmt.Sprintf("%.0f °C colder", colderC)
	case Headwind:
		return u.Speed(headwindMS) + " more headwind"
	case Faster:
		return u.Speed(fasterMS) + " faster"
	case RoofBox:
		return "a roof box"
	}
	return fmt.Sprintf("battery worn by %.0f %%", 100*wornShare)
}

// trial is a drive that may be made harder.
type trial struct {
	corridor *Corridor
	car      *energy.Car
	cond     energy.Conditions
	options  DriveOptions
}

func (d *Drive) trial() trial {
	t := trial{d.Corridor, d.Car, d.Conditions, d.Options}
	if t.cond.RegenShare == d.Options.regenShare(d.Conditions) {
		t.cond.RegenShare = 0 // it follows the temperature
	}
	return t
}

// drive is the trial at the chargers of another drive, with their power left
// as it is there.
func (t *trial) drive(d *Drive, road []energy.Step) (*Drive, error) {
	if t.cond.RegenShare == 0 {
		t.cond.RegenShare = t.options.regenShare(t.cond)
	}
	profile, err := newProfile(t.car, t.cond, road, t.options.air)
	if err != nil {
		return nil, err
	}
	other := *d
	other.Car, other.Conditions, other.Options, other.Profile = t.car, t.cond, t.options, profile
	other.Chargers = slices.Clone(d.Chargers)
	other.prepare()
	now, before := newAirs(&other), newAirs(d)
	for i := range other.Chargers {
		c := &other.Chargers[i]
		was, err := before.at(c.ChainageM)
		if err != nil {
			return nil, err
		}
		is, err := now.at(c.ChainageM)
		if err != nil {
			return nil, err
		}
		offWas, err := was.off(c.Pass)
		if err != nil {
			return nil, err
		}
		offIs, err := is.off(c.Pass)
		if err != nil {
			return nil, err
		}
		in, _ := offWas.legs(c.Pass, d.Profile.CapacityKWh())
		if c.In, c.Out, err = is.drive.detour(c.Pass, offIs, c.In.CostKWh-in.CostKWh); err != nil {
			return nil, err
		}
	}
	return &other, nil
}

// apply makes a trial harder. It reports false where the hardship is there
// already, or more than the model covers.
func (h Hardship) apply(t *trial) bool {
	switch h {
	case Colder:
		t.cond.TempC -= colderC
	case Headwind:
		t.headwind()
	case Faster:
		t.faster(fasterMS)
	case RoofBox:
		return t.roofBox()
	case Worn:
		if t.cond.StateOfHealth == 0 {
			t.cond.StateOfHealth = 1
		}
		t.cond.StateOfHealth *= 1 - wornShare
	}
	return true
}

// faster changes the speed on fast roads, and the driver's own cap with it; see
// faster for the road itself.
func (t *trial) faster(byMS float64) {
	t.options.FasterMS += byMS
	if t.cond.SpeedCapMS > 0 {
		t.cond.SpeedCapMS = max(t.cond.SpeedCapMS+byMS, FastRoadMS)
	}
}

// headwind adds to the wind, as a vector, a wind from where the destination
// lies.
func (t *trial) headwind() {
	if t.cond.HeadWind {
		t.cond.WindSpeedMS += headwindMS
		return
	}
	r := t.corridor.Route
	start, end := r.Point(0), r.Point(r.Len()-1)
	ahead := earth.BearingDeg(start.Lon, start.Lat, end.Lon, end.Lat) * math.Pi / 180
	from := t.cond.WindFromDeg * math.Pi / 180
	north := t.cond.WindSpeedMS*math.Cos(from) + headwindMS*math.Cos(ahead)
	east := t.cond.WindSpeedMS*math.Sin(from) + headwindMS*math.Sin(ahead)
	t.cond.WindSpeedMS = math.Hypot(north, east)
	t.cond.WindFromDeg = math.Mod(math.Atan2(east, north)*180/math.Pi+360, 360)
}

// faster is a road driven faster, or slower, where the road allows FastRoadMS.
func faster(road []energy.Step, byMS float64) []energy.Step {
	out := slices.Clone(road)
	for i := range out {
		if out[i].SpeedMS >= FastRoadMS {
			out[i].SpeedMS = max(out[i].SpeedMS+byMS, FastRoadMS)
		}
	}
	return out
}

func (t *trial) roofBox() bool {
	onRoof := func(name string) bool { return strings.Contains(name, roofExtra) }
	if slices.ContainsFunc(t.cond.Extras, onRoof) {
		return false
	}
	for _, e := range t.car.Extras {
		if onRoof(e.Name) {
			t.cond = t.cond.WithExtras(e.Name)
			return true
		}
	}
	car := *t.car
	car.Extras = append(slices.Clone(car.Extras), energy.Extra{Name: roofBoxExtra, MassKg: boxMassKg, DragAreaM2: boxDragM2})
	t.car, t.cond = &car, t.cond.WithExtras(roofBoxExtra)
	return true
}

// stress fills Stresses of every drive: a harder day is harder for all, and each
// drive begins with what those before it leave.
func (p *JourneyPlan) stress(planner *stops.Planner, closed []shut) error {
	for _, plan := range p.Plans {
		plan.Stresses = nil
	}
	for h := Colder; h <= Worn; h++ {
		soc := p.Plans[0].Goal.DepartSoC
		for i, plan := range p.Plans {
			if err := plan.Goal.stopped(); err != nil {
				return err
			}
			s, known := plan.under(planner, h, soc, closed[i])
			if !known {
				break
			}
			plan.Stresses = append(plan.Stresses, s)
			if i == len(p.Stays) {
				break
			}
			if soc = s.ArriveSoC; s.Plan != nil {
				soc = s.Plan.ArriveSoC
			}
			after, err := p.journey.afterStay(i)
			if err != nil {
				return err
			}
			soc = after(soc)
		}
	}
	return nil
}

// under is what comes of a hardship for a drive that begins with departSoC; false
// where it is there already, or beyond what the model covers, such as −65 °C.
func (p *Plan) under(planner *stops.Planner, h Hardship, departSoC float64, closed shut) (Stress, bool) {
	d := p.Drive
	t := d.trial()
	if !h.apply(&t) {
		return Stress{}, false
	}
	road := d.road()
	if h == Faster {
		road = faster(road, fasterMS)
	}
	drive, err := t.drive(d, road)
	if err != nil {
		return Stress{}, false
	}
	s := p.strays(drive, departSoC, p.Goal.ArriveReserveSoC, 0)
	s.Hardship = h
	if !s.Holds() {
		g := p.Goal
		g.DepartSoC = departSoC
		s.Plan = t.plan(planner, p, g, drive, closed)
	}
	return s, true
}

// plan is the best plan of a trial, nil where there is none. Only other air
// changes the power that a charger gives at a state of charge.
func (t *trial) plan(planner *stops.Planner, p *Plan, g Goal, drive *Drive, closed shut) *Plan {
	var err error
	switch {
	case t.cond.TempC != p.Drive.Conditions.TempC:
		drive, err = NewDrive(t.corridor, t.car, t.cond, t.options)
	case drive.Profile.CapacityKWh() != p.Drive.Profile.CapacityKWh():
		err = drive.refill()
	}
	if err != nil {
		return nil
	}
	plan, err := drive.again(planner, g, closed)
	if err != nil {
		return nil
	}
	return plan
}

// refill fits the charging functions to the drive's own capacity.
func (d *Drive) refill() error {
	made := map[*taper.Func]*taper.Func{}
	for i := range d.Chargers {
		c := &d.Chargers[i]
		fitted, ok := made[c.Charge]
		if !ok {
			var err error
			if fitted, err = taper.New(curveOf(c.Charge), d.Profile.CapacityKWh()); err != nil {
				return err
			}
			made[c.Charge] = fitted
		}
		c.Charge = fitted
	}
	return nil
}

// again plans for the goal of a plan at hand, on another drive.
func (d *Drive) again(planner *stops.Planner, g Goal, closed shut) (*Plan, error) {
	g.brief = true
	if g.Confidence > 0 {
		return d.planSurely(planner, g)
	}
	return d.anew(planner, g, g, closed)
}

// strays drives the plan's stops and departures on another drive, begun with
// departSoC and to end with endSoC, with consumption above the estimate by a
// share of excess.
func (p *Plan) strays(d *Drive, departSoC, endSoC, excess float64) Stress {
	const slackSoC = 1e-6
	capacity := d.Profile.CapacityKWh()
	s := Stress{LeastSoC: departSoC, BreaksLeg: -1}
	fromM, kWh := 0.0, departSoC*capacity
	way := energy.Leg{CapKWh: capacity}
	for i := range p.Legs {
		toM, reserve, in := d.Profile.LengthM(), endSoC, energy.Leg{CapKWh: capacity}
		last := i == len(p.Stops)
		var c *Charger
		if !last {
			c = &d.Chargers[p.Exact.Stops[i].Charger]
			toM, reserve, in = c.ChainageM, p.Goal.ReserveSoC, strayedOff(c.In, excess)
		}
		way = way.Then(d.roadLeg(fromM, toM, excess)).Then(in)
		if math.IsInf(way.NeedKWh, 1) {
			s.ArriveSoC, s.LeastSoC = math.NaN(), math.NaN()
			if s.BreaksLeg < 0 {
				s.BreaksLeg = i
			}
			return s
		}
		low := (kWh - way.NeedKWh) / capacity
		kWh = math.Min(kWh-way.CostKWh, way.CapKWh)
		soc := kWh / capacity
		s.LeastSoC = min(s.LeastSoC, low, soc)
		if s.BreaksLeg < 0 && (low < p.Goal.floorSoC()-slackSoC || soc < reserve-slackSoC) {
			s.BreaksLeg = i
		}
		if !last {
			kWh = math.Max(soc, p.Stops[i].LeaveSoC) * capacity
			way, fromM = strayedOff(c.Out, excess), toM
		}
	}
	s.ArriveSoC = kWh / capacity
	return s
}

// curveOf is the power curve of a charging function.
func curveOf(f *taper.Func) taper.Curve {
	var out taper.Curve
	for _, p := range f.Pieces() {
		from, to := taper.Point{SoC: p.FromSoC, PowerKW: p.FromKW}, taper.Point{SoC: p.ToSoC, PowerKW: p.ToKW}
		if n := len(out); n == 0 || out[n-1] != from {
			out = append(out, from)
		}
		out = append(out, to)
	}
	return out
}
