// Package energy says how much energy a car needs along a road and how fast
// it takes energy back at a charger.
//
// One physics serves two evaluators. Road load (rolling, air drag, grade,
// inertia) times speed is the power at the wheels; divided by the drive
// efficiency, or multiplied by the regenerative efficiency when it is
// negative, it is the power at the battery, to which auxiliaries and climate
// are added. A Cycle is walked second by second; a Profile sums the same
// powers once along a route, so that any leg of it is two look-ups:
//
//	   E(s) kWh drawn since the start
//	    │          ╭──╮                need = highest E on the leg − E(from)
//	    │      ╭───╯  ╰──╮             cost = E(to) − E(from)
//	    │  ╭───╯         ╰─ to         cap  = capacity − (E(to) − lowest E on the leg)
//	from├──╯
//	    └──────────────────────── s
//
// Units are SI inside (metre, second, kilogram, newton, joule, watt) and kWh,
// kW, °C at the edges; state of charge (SoC) is a fraction from 0 to 1. Every
// field and parameter carries its unit in its name.
//
// The results are estimates from a model. Weather, traffic, tyres and the way
// a car is driven move them by tens of percent for a single trip: keep a
// reserve, watch the car's own gauge and follow its maker's instructions.
package energy

const (
	joulePerKWh = 3.6e6
	gravityMS2  = 9.80665 // standard gravity, ISO 80000-3
)
