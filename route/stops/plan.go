package stops

// Stop is one visit to a charger. Times are seconds, clock times on the
// problem's clock.
type Stop struct {
	Charger   int     // index into Problem.Chargers
	Option    int     // speed option of the drive that leads here
	DriveS    float64 // that drive, with the way out of the last stop and into this one
	ArriveS   float64 // clock on arrival at the stall
	ArriveSoC float64
	WaitS     float64 // for opening, in a queue, or for a better price
	OverheadS float64
	ChargeS   float64 // power flows
	StayS     float64 // ≥ ChargeS: with what a least stay or a rest adds
	LeaveSoC  float64
	LeaveS    float64 // clock on leaving the stall
	ChargeKWh float64
	Money     float64
	Rest      bool // the rest is taken here
}

// Plan is a sequence of stops with all that follows from it.
type Plan struct {
	Stops     []Stop
	Option    int     // speed option of the last drive
	DriveS    float64 // the last drive
	ArriveSoC float64 // at the destination
	ArriveS   float64 // clock at the destination
	TimeS     float64 // from departure to arrival
	Money     float64

	// Value is the objective: s for LeastTime; s plus 10⁷ a stop for
	// FewestStops; money for LeastMoney; money plus the worth of the time for
	// TimeAndMoney. The BurdenS of every stop is in it: as time, or at the worth
	// of an hour.
	Value float64
	// Bound is proven: no plan has a lower Value. It equals Value, up to
	// rounding, wherever the exact method applies (see the package comment), and
	// is −Inf in a [Tradeoff], which is best at another objective.
	Bound float64
}
