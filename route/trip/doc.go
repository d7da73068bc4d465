// Package trip plans a journey, of one drive or of several with stays between:
// it is the only place where roads, cars, weather and stations meet.
//
//	route.Route ──┐
//	stations.Index├─► Corridor ──┐              geometry only: which sites serve
//	              ┘              │              the road, where, how far off it
//	energy.Car ──────────────────┼─► Drive ──┐  one car on one day: energy along
//	energy.Conditions ───────────┘           │  the road, power at every charger
//	Goal (SoC, reserves, what counts) ───────┼─► stops.Problem ─► stops.Plan
//	                                         └─► Plan, ready for a writer
//
// A Corridor is made once and shared by every car and every day on it; a Drive
// is made once and shared by every reserve asked of it. All three are safe for
// concurrent use once made.
//
// An Itinerary makes a Journey of a question; each of its drives is planned as
// above, with what the others leave it (see part).
//
// A Plan says more once Assure has been called: a leave rule, a fallback for
// each stop, what simulated straying of consumption breaks, what harder days
// do, and other choices. All of these ask one clock-free sweep of the planner
// (see Drive.untimed), so that whoever comes earlier or later than planned is
// served by the same answers.
//
// Every Plan has been replayed by arithmetic that shares nothing with the
// planner before it is handed out. A plan is an estimate: check a station's
// status before relying on it, and never drive on below the reserve hoping.
package trip
