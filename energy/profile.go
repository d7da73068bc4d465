package energy

import (
	"fmt"
	"math"
	"sort"

	"ampleway/data/fault"
)

// Step is a piece of road driven at one speed.
type Step struct {
	LengthM    float64 // > 0, along the road
	SpeedMS    float64 // mean travel speed on it, > 0; the car's and the driver's caps are applied on top
	RiseM      float64 // elevation at its end minus that at its start
	BearingDeg float64 // direction of travel, clockwise from north
	ElevationM float64 // mean elevation above the sea, for the air
}

// Profile is the cumulative time and battery energy of a car along a road. It
// is safe for concurrent use.
type Profile struct {
	chainageM   []float64
	timeS       []float64
	energyKWh   []float64
	extremes    extremes
	capacityKWh float64
}

// NewProfile drives a car along the steps and sums time and energy. Within a
// step power is constant, so both are linear there. The car starts from
// standstill; a change of speed between two steps is charged to the later
// one as kinetic energy.
//
// The error is a *fault.Input that names the step or the condition.
func NewProfile(car *Car, cond Conditions, steps []Step) (*Profile, error) {
	d, err := newDrive(car, &cond)
	if err != nil {
		return nil, err
	}
	if len(steps) == 0 {
		return nil, &fault.Input{Field: "steps", Found: "none", Expected: "at least one"}
	}
	n := len(steps) + 1
	store := make([]float64, 3*n)
	p := &Profile{
		chainageM:   store[:n:n],
		timeS:       store[n : 2*n : 2*n],
		energyKWh:   store[2*n:],
		capacityKWh: d.capacityKWh,
	}
	var chainageM, timeS, tractionJ, fromMS float64
	for i := range steps {
		s := &steps[i]
		if !s.sound() {
			return nil, s.fault(i)
		}
		speedMS := min(s.SpeedMS, d.topSpeedMS)
		seconds := s.LengthM / speedMS
		tractionJ += d.stepJ(s, fromMS, speedMS, seconds)
		chainageM += s.LengthM
		timeS += seconds
		fromMS = speedMS
		p.chainageM[i+1] = chainageM
		p.timeS[i+1] = timeS
		p.energyKWh[i+1] = (tractionJ + d.load.energyJ(timeS)) * (1 / joulePerKWh)
	}
	p.extremes = newExtremes(p.energyKWh)
	return p, nil
}

// stepJ is the battery energy of traction for a step.
func (d *drive) stepJ(s *Step, fromMS, speedMS, seconds float64) float64 {
	perM := 1 / s.LengthM
	sin := min(max(s.RiseM*perM, -1), 1)
	headMS, crossMS := d.wind(s.BearingDeg)
	force := d.road.forceN(speedMS, headMS, crossMS, d.air.at(s.ElevationM), math.Sqrt(1-sin*sin)) +
		d.massKg*gravityMS2*sin +
		d.inertiaKg*(speedMS-fromMS)*(speedMS+fromMS)*0.5*perM
	energyJ := d.batteryW(force*speedMS, speedMS) * seconds
	if !d.everyMovement && s.SpeedMS < freeFlowMS {
		energyJ += d.stopAndGoJ(s.SpeedMS, s.LengthM)
	}
	return energyJ
}

// sound reports whether the lengths and speeds are above nothing and all
// numbers finite: a sum is finite only if its terms are.
func (s *Step) sound() bool {
	sum := s.LengthM + s.SpeedMS + s.RiseM + s.BearingDeg + s.ElevationM
	return s.LengthM > 0 && s.SpeedMS > 0 && sum-sum == 0
}

func (s *Step) fault(i int) error {
	return &fault.Input{
		Where:    fmt.Sprintf("step %d", i),
		Found:    fmt.Sprintf("%+v", *s),
		Expected: "a length and a speed above 0 and finite numbers",
	}
}

// LengthM returns the length of the road in m.
func (p *Profile) LengthM() float64 { return p.chainageM[len(p.chainageM)-1] }

// CapacityKWh returns the usable energy of the battery the profile was made
// for: the car's, times the state of health.
func (p *Profile) CapacityKWh() float64 { return p.capacityKWh }

// TimeS returns the driving time in s from the start to a chainage in m.
// Chainages beyond the ends count as the ends.
func (p *Profile) TimeS(chainageM float64) float64 { return p.at(chainageM).value(p.timeS) }

// EnergyKWh returns the battery energy in kWh drawn from the start to a
// chainage in m, negative where a descent has given more back.
func (p *Profile) EnergyKWh(chainageM float64) float64 { return p.at(chainageM).value(p.energyKWh) }

// place is a position between the ends of step i.
type place struct {
	step  int
	share float64 // 0..1 along the step
}

func (l place) value(sums []float64) float64 {
	return sums[l.step] + (sums[l.step+1]-sums[l.step])*l.share
}

func (p *Profile) at(chainageM float64) place {
	last := len(p.chainageM) - 2
	i := sort.Search(last, func(i int) bool { return p.chainageM[i+1] >= chainageM })
	share := (chainageM - p.chainageM[i]) / (p.chainageM[i+1] - p.chainageM[i])
	return place{i, min(max(share, 0), 1)}
}

// Leg returns the leg between two chainages in m, exact for the profile's
// piecewise linear energy. Chainages beyond the ends count as the ends; a
// later start than end panics. The time is two binary searches and does not
// grow with the leg, but for legs that swing by more than the whole battery.
func (p *Profile) Leg(fromM, toM float64) Leg {
	if !(fromM <= toM) {
		panic(fmt.Sprintf("energy: leg from %v m to %v m runs backwards", fromM, toM))
	}
	a, b := p.at(fromM), p.at(toM)
	from, to := a.value(p.energyKWh), b.value(p.energyKWh)
	low, high := min(from, to), max(from, to)
	if a.step < b.step {
		l, h := p.extremes.between(a.step+1, b.step+1)
		low, high = min(low, l), max(high, h)
	}
	leg := Leg{
		DistanceM: b.value(p.chainageM) - a.value(p.chainageM),
		TimeS:     b.value(p.timeS) - a.value(p.timeS),
		NeedKWh:   high - from,
		CostKWh:   to - from,
		CapKWh:    p.capacityKWh - (to - low),
	}
	if leg.NeedKWh <= p.capacityKWh && high-low > p.capacityKWh && p.climbKWh(a, b) > p.capacityKWh {
		leg.NeedKWh = math.Inf(1)
	}
	return leg
}

// climbKWh is the most that the energy drawn rises between any two places in
// order.
func (p *Profile) climbKWh(a, b place) float64 {
	low := a.value(p.energyKWh)
	var climb float64
	for i := a.step + 1; i <= b.step; i++ {
		low = min(low, p.energyKWh[i])
		climb = max(climb, p.energyKWh[i]-low)
	}
	return max(climb, b.value(p.energyKWh)-low)
}
