package trip

import (
	"errors"
	"math"
	"sync"

	"ampleway/energy"
	"ampleway/energy/taper"
	"ampleway/route"
	"ampleway/route/question"
	"ampleway/stations"
)

// DefaultOverheadS is the time at a stop that is neither detour nor charging:
// park, plug in, pay, unplug. Five minutes, common practice.
const DefaultOverheadS = 300.0

// FastRoadMS is the speed, 70 km/h, from which a road leaves a driver the
// choice to go faster or slower.
const FastRoadMS = 70 / 3.6

// DriveOptions says which chargers a car may use and how. The zero value uses
// every public fast charger that fits the car.
type DriveOptions struct {
	Filter         stations.Filter // Accepts and Adapters are taken from the car where empty
	PowerClasses   []PowerClass    // the stall's power must lie in one of these; empty: any
	AC             bool            // also AC charging on the way
	OverheadS      *float64        // nil: DefaultOverheadS
	PackTempC      float64         // battery temperature at departure, with PackTempKnown
	PackTempKnown  bool            // false: the battery is as warm as the air
	Precondition   bool            // the car warms its battery on the way to a charger
	AssumeShared   bool            // every stall of a shared cabinet or site is in use
	FasterMS       float64         // added to the road's speed where that is FastRoadMS or more, down to FastRoadMS where negative
	DefaultSpeedMS float64         // speed where the route does not say; 0: route.DefaultSpeedMS
	SmoothingM     float64         // as in route.StepOptions

	asked *question.Question // that the drive is for; nil: none
	air   []airPart          // where the temperature follows the hours; empty: Conditions.TempC throughout
}

func (o DriveOptions) overheadS() float64 {
	if o.OverheadS == nil {
		return DefaultOverheadS
	}
	return *o.OverheadS
}

// unknownSpeedMS is the speed where the route does not say.
func (o DriveOptions) unknownSpeedMS() float64 {
	if o.DefaultSpeedMS == 0 {
		return route.DefaultSpeedMS
	}
	return o.DefaultSpeedMS
}

// startPackTempC is the battery's temperature at departure.
func (o DriveOptions) startPackTempC(cond energy.Conditions) float64 {
	if o.PackTempKnown {
		return o.PackTempC
	}
	return cond.TempC
}

// Drive is one car on one day on a corridor: the energy along the road and
// what each charger gives this car.
type Drive struct {
	Corridor   *Corridor
	Car        *energy.Car
	Conditions energy.Conditions
	Options    DriveOptions
	Profile    *Profile
	Climb      route.Climb // after smoothing
	Chargers   []Charger   // usable passes, in order of chainage
	Slow       SlowDrive   // where the driver goes slower than the road allows; empty: nowhere
	Refused    []Refusal   // passes that this car or driver does not use, and why

	fullPower func() *taper.Func // the car's own taper, nothing else limiting
	drawn     func() drawn
	road      func() []energy.Step // as it is driven
	reversed  func() *Profile      // of the road driven the other way
}

// Charger is a pass this car can charge at.
type Charger struct {
	Pass
	Offer     stations.Offer
	Bays      int        // bays that give this car half of the offer's power or more
	In, Out   energy.Leg // from the road to the plug, and back
	PackTempC float64    // battery temperature its power is taken at
	Charge    *taper.Func
}

// Refusal is a pass that is not used.
type Refusal struct {
	Pass
	Why stations.Verdict
}

// Verdicts beyond those of stations.Filter; OtherDirection is of a pass that
// Corridor.Barred holds.
const (
	tooHighVoltage  stations.Verdict = "its voltage does not reach the car's battery"
	otherPowerClass stations.Verdict = "not in the power classes asked for"
	OtherDirection  stations.Verdict = "entered from the other direction alone"
)

// NewDrive computes a car's energy along a corridor and its power at every
// charger. Errors are *fault.Input about the car or the conditions.
func NewDrive(c *Corridor, car *energy.Car, cond energy.Conditions, o DriveOptions) (*Drive, error) {
	if cond.RegenShare == 0 {
		cond.RegenShare = o.regenShare(cond)
	}
	profile, err := newProfile(car, cond, steps(c.Route, o), o.air)
	if err != nil {
		return nil, err
	}
	d := &Drive{Corridor: c, Car: car, Conditions: cond, Options: o, Profile: profile}
	d.Climb = c.Route.Climb(smoothingM(o))
	d.Options.Filter = filterFor(car, o)
	d.prepare()
	airs := newAirs(d)
	for _, pass := range c.Passes {
		offer, verdict := d.judge(pass.Site)
		if verdict != stations.Taken {
			d.Refused = append(d.Refused, Refusal{pass, verdict})
			continue
		}
		charger, err := airs.charger(pass, offer)
		if errors.Is(err, energy.ErrVoltage) {
			d.Refused = append(d.Refused, Refusal{pass, tooHighVoltage})
			continue
		}
		if err != nil {
			return nil, err
		}
		d.Chargers = append(d.Chargers, charger)
	}
	for _, pass := range c.Barred {
		d.Refused = append(d.Refused, Refusal{pass, OtherDirection})
	}
	return d, nil
}

// prepare sets up what is worked out only when it is asked for.
func (d *Drive) prepare() {
	d.fullPower = sync.OnceValue(func() *taper.Func { return must(taper.New(d.Car.Taper, d.Profile.CapacityKWh())) })
	d.drawn = sync.OnceValue(func() drawn { return newDrawn(d) })
	d.road = sync.OnceValue(func() []energy.Step { return steps(d.Corridor.Route, d.Options) })
	d.reversed = sync.OnceValue(d.reverse)
}

func (d *Drive) judge(site *stations.Site) (stations.Offer, stations.Verdict) {
	offer, verdict := d.Options.Filter.Judge(site)
	if verdict == stations.Taken && !anyHolds(d.Options.PowerClasses, offer.PowerKW) {
		return offer, otherPowerClass
	}
	return offer, verdict
}

// bays counts the bays of a site that a driver who comes for an offer would take.
func (d *Drive) bays(site *stations.Site, offer stations.Offer) int {
	n := 0
	for _, o := range site.Offers(d.Options.Filter.Accepts, d.Options.Filter.Adapters...) {
		if o.DC == offer.DC && o.PowerKW >= offer.PowerKW/2 {
			n += o.Stalls
		}
	}
	return n
}

func smoothingM(o DriveOptions) float64 {
	if o.SmoothingM == 0 {
		return route.DefaultSmoothingM
	}
	return math.Max(o.SmoothingM, 0)
}

func steps(r *route.Route, o DriveOptions) []energy.Step {
	out := make([]energy.Step, 0, r.Len()-1)
	for _, s := range r.Steps(route.StepOptions{SmoothingM: o.SmoothingM, DefaultSpeedMS: o.DefaultSpeedMS}) {
		if s.SpeedMS >= FastRoadMS {
			s.SpeedMS = max(s.SpeedMS+o.FasterMS, FastRoadMS)
		}
		out = append(out, energy.Step(s))
	}
	return out
}

func (a *airs) charger(pass Pass, offer stations.Offer) (Charger, error) {
	air, err := a.at(pass.ChainageM)
	if err != nil {
		return Charger{}, err
	}
	charge, packTempC, err := air.curves.at(pass, offer)
	if err != nil {
		return Charger{}, err
	}
	c := Charger{Pass: pass, Offer: offer, Bays: a.drive.bays(pass.Site, offer), PackTempC: packTempC, Charge: charge}
	off, err := air.off(pass)
	if err != nil {
		return Charger{}, err
	}
	c.In, c.Out, err = air.drive.detour(pass, off, air.curves.heatKWh(pass))
	return c, err
}

// detour is the way to a stall, with what warming the battery takes, and back,
// with what halting takes.
func (d *Drive) detour(pass Pass, off perMetre, heatKWh float64) (in, out energy.Leg, err error) {
	in, out = off.legs(pass, d.Profile.CapacityKWh())
	halt, err := energy.HaltKWh(d.Car, d.Conditions, d.speedMS(pass.ChainageM))
	out = out.Then(d.spend(halt))
	if heatKWh > 0 {
		in = in.Then(d.spend(heatKWh))
	}
	return in, out, err
}

// regenShare is what a battery takes back at its temperature at departure.
func (o DriveOptions) regenShare(cond energy.Conditions) float64 {
	return energy.Battery{}.Derate(o.startPackTempC(cond))
}

// spend is a leg of no length that takes energy.
func (d *Drive) spend(kWh float64) energy.Leg {
	return energy.Leg{NeedKWh: kWh, CostKWh: kWh, CapKWh: d.Profile.CapacityKWh() - kWh}
}

// speedMS is the travel speed at a chainage.
func (d *Drive) speedMS(chainageM float64) float64 {
	speedMS := d.Corridor.Route.At(chainageM).SpeedMS
	if speedMS == 0 {
		speedMS = d.Options.unknownSpeedMS()
	}
	if limit := d.Conditions.SpeedCapMS; limit > 0 {
		speedMS = math.Min(speedMS, limit)
	}
	return speedMS
}

func filterFor(car *energy.Car, o DriveOptions) stations.Filter {
	f := o.Filter
	f.DCOnly = f.DCOnly || !o.AC
	if len(f.Accepts) == 0 {
		for _, name := range car.Connectors {
			connector, _ := stations.ConnectorFor(name)
			f.Accepts = append(f.Accepts, connector)
		}
	}
	if len(f.Adapters) == 0 {
		for _, a := range car.Adapters {
			f.Adapters = append(f.Adapters, adapter(a))
		}
	}
	return f
}

func adapter(a energy.Adapter) stations.Adapter {
	from, _ := stations.ConnectorFor(a.Station)
	to, _ := stations.ConnectorFor(a.Inlet)
	return stations.Adapter{
		From: from, To: to,
		AC:    from.Current() == stations.CurrentAC,
		MaxKW: a.LimitKW, MaxA: a.LimitA,
	}
}

// must unwraps what a car that has been checked cannot fail.
func must(f *taper.Func, err error) *taper.Func {
	if err != nil {
		panic("trip: " + err.Error())
	}
	return f
}
