// Package stops is the exact planner of charging stops: numbers in, numbers
// out. Given a road cut into legs, the chargers beside it and the car's power
// at each of them, it finds the stops and the departure SoCs with the least
// total time, or money, or both at a stated value of time, or with the fewest
// stops. It imports nothing that touches files, clocks, randomness, geometry
// or goroutines, and [Verify] replays every plan apart from it.
//
// # The problem
//
// A drive from stop i to stop j is a [Leg]: it takes t and needs at least
// need; a car that leaves with x arrives with min(x − cost, cap). At every
// arrival at least the reserve of that place must be left, so x ≥ L with
//
//	L = max(need, reserve_j + cost).
//
// Let p_i(s) be the power at charger i and G_i(s) = 3600 E ∫ ds/p_i(s) the
// time to charge from empty to s, so that charging from a to x takes
// G_i(x) − G_i(a). Where energy and charging time have a price, the same holds
// with
//
//	g_i(s) = A_i/p_i(s) + B_i,   G_i(s) = ∫ g_i(s) ds,
//
// A_i the worth of a second (the driver's and the fee per minute) times
// 3600 E, B_i that of filling the battery. Overhead, session fee and a fixed
// worth per stop are a constant o_i. The value to be minimised is, over a
// sequence of stops 1..m from the origin 0 to the destination d,
//
//	t_01 + Σ ( o_i + G_i(x_i) − G_i(a_i) + t_i,i+1 ),   a_i = min(x_{i−1} − cost, cap).
//
// # Why the candidates are few
//
// The split. Sort the sum by departures: x_i occurs in
//
//	φ_ij(x) = G_i(x) − G_j(min(x − cost, cap))
//
// and nowhere else, with x in [L, ceiling_i] and x_j ≥ a_j. Only the last
// condition, that a stop does not discharge, ties one departure to another.
//
// Stops that charge nothing can be left out. Let a best plan have x_j = a_j.
// Driving past j takes no more time (its detour and overhead are ≥ 0), and
// brings the car to the next place with no less: each drive is a nondecreasing
// map of the SoC, and the way in and out of j maps a SoC to no more than
// itself if its costs do not add up to less than zero. With more in the
// battery the rest of the plan costs no more: charge up to the same x at the
// next stop, at a saving of ∫ g ≥ 0, or, if x is exceeded, leave that stop out
// as well. So some best plan has x_j > a_j everywhere, and there every x_i is
// free in both directions: it is a local minimum of φ_ij on [L, ceiling_i].
//
// The local minima. φ'(x) = g_i(x) − g_j(x − cost) where nothing saturates,
// and g_i(x) ≥ 0 where it does. A local minimum is L; or the end of the range
// (the ceiling, or x = cost + cap where saturation begins) if φ' < 0 before it;
// or a place where φ' turns from − to +, at a corner of one of the two curves
// or inside a pair of pieces where both powers are straight lines. Times
// p_i p_j, φ' is there
//
//	f(x) = A_i p_j + (B_i − B_j) p_i p_j − A_j p_i,
//
// linear for equal prices, quadratic otherwise, with at most one turn from −
// to + a piece. No falling curve is assumed: dips and steps are corners like
// others. Where power is cut off below some SoC at j, arriving just above that
// is a candidate too.
//
// The driver's rule follows: leave with just enough to reach the next stop
// with its reserve (x = L); stay longer only while the power here exceeds what
// the next stop will give.
//
// # The sweep
//
// Let V_j(a) be the least value from arriving at j with a, charging there.
// Then
//
//	V_j(a) = min over x > a of H_j(x) − G_j(a),   H_j(x) = o_j + G_j(x) + min over k of (t_jk + V_k(x − cost)),
//
// x running over the candidates. H does not depend on a. So one list of steps
// (x, H), from which every step is dropped that another one with no smaller x
// and no larger H makes needless, is V_j for every a: the best step on arriving
// with a is the first above a. The lists are built from the last charger to
// the first. A finished [Sweep] holds the plan for any departure SoC, the
// decision for any arrival ([Sweep.Decide]) and the rule of every stop
// ([Sweep.LeaveRule]).
//
// Most candidates are entered or discarded by bounds without a logarithm: end
// and start of every curve are tabled in 256 cells, V_k in 32. A step holds two
// bounds of its H; H itself is worked out where those of two steps overlap, and
// where it is read. The window of a pair of
// curves (see windowBetween) tells, once for all drives between them, that
// more charge always pays below a SoC and never above another; for one falling
// taper behind station limits the two are one number. There a drive has two
// departures that can be best, and is passed over if the bounds of both tell
// that they enter no list. Bounds only discard what cannot be best, so the
// result does not depend on them.
//
// The road is measured from the origin. A drive from j to k needs the highest
// of cost before a piece plus need of the piece, over the pieces between, less
// the cost before j; the car arrives with at most the lowest of cost after a
// piece plus cap of the piece, less the cost before k. From one charger to the
// one before, these two change for few k or none, where road that rises in
// cost is the rule: no drive is composed anew.
//
// Complexity. With n chargers, r of them within reach of a full battery and m
// pieces a curve: O(n r (m + log s)) for lists of s steps, O(n r log s) where
// the windows are points, and O(n s) memory. A decision is O(r log s).
//
// Figures (go test ./route/stops -run xxx -bench . -count 2, on two idle cores
// of a virtual AMD EPYC). A plan with 100 chargers on 1,000 km took 70 to 76 µs,
// the quickest 67; with 500 on 5,000 km 0.55 ms, with 2,000 on 5,000 km 6.0 to
// 6.7 ms and on 1,000 km 17 to 19 ms, nothing allocated: 14,100 plans of 100
// chargers a second on one core and 27,500 on two. With a logarithm for every
// departure that is entered, side by side, the first two took 89 µs and 0.58
// ms. A decision takes 0.53 µs, a plan read from a finished sweep 1.8 µs, a
// plain grid program of 0.25 % 90 to 100 times the plan.
//
// Ties: of plans whose values are equal to within a microsecond (10⁻⁶ s a
// stop is added when comparing) the one with fewer stops is taken; of
// departures that are equal, the higher one, which arrives with more (where
// powers are equal over a stretch, rounding decides); of equal
// drives, the one to the farther charger. Equally cheap plans for LeastMoney
// are told apart by time, at 10⁻⁹ money a second.
//
// # What breaks the argument, and what is done then
//
// Stops that may charge nothing and still matter: chargers that must be
// visited, a choice of speeds (a stop divides a drive into two with a speed
// each), detours whose costs add up to less than zero. There a stop without
// charging becomes part of the drive: drives through such stops are composed
// by the law of [Leg.Then], kept where no other drive to the same place is as
// good in time, need, cost, cap and number of stops, and treated like any
// drive, candidates included. The result is exact again; the price is a factor
// of up to r in time.
//
// A limit on the number of stops: one sweep a number, each reading the one
// below.
//
// Least and longest stay, idle fees, a rest, queues, hours and prices by the
// clock: charging time no longer splits, because the departure is tied to the
// arrival (x = what a least stay gives from a) or to the clock. The trip is
// then solved in three steps. (1) The sweep runs on the same trip without
// those limits: cheapest prices of the day, no queue, always open, any stay,
// no rest. (2) Labels (place, SoC, clock, value, rested) are extended from the
// origin in order of value so far plus the sweep's cost-to-go from there. Proof
// that this is admissible: take any way to go on that keeps the true limits.
// It is a plan of the relaxed trip from the same place and SoC; each of its
// stops costs there o + G(x) − G(a) at the cheapest prices, which is no more
// than the true stay, queue, waiting and price; each drive costs the same. So
// the relaxed value of this way is no more than its true value, and the
// cost-to-go, the least relaxed value of all ways, is no more than the least
// true one. A label is dropped where another at the same place has no less
// SoC, no higher value, no later clock (if the clock matters) and no more
// stops (if they are limited): whatever the first can do, the second can, by
// waiting or by charging less. (3) Departure SoCs tried are all candidates
// above, with those at which something about a stay changes or a period of the
// next charger is met exactly, and a grid of 2.5 %. Sequences of stops come out
// in order; while one may still beat the best, its departures are played on a
// lattice with every tied departure (forwards from the arrivals, backwards from
// the needs) and then moved by a pattern search to where the value is least.
// What this does not prove is that no departure between the grid points of (3)
// leads to a better sequence: [Plan.Bound] is then the relaxed optimum, proven,
// and below [Plan.Value]; the tests compare with brute force. Waiting is
// always allowed, so an arrival is never worse for being earlier.
//
// A rest that nothing else accompanies is placed exactly, without labels: see
// restPlan. Where time or stops count, the plan is within half a second of
// Bound unless a set number of plans is used up; where money counts, the gap is
// what the bounds leave.
//
// Work is counted, never timed, so that the same problem gives the same plan: a
// search of labels that uses up its comparisons without a plan is followed by a
// coarser one, and one that has found some ends with the best of them, further
// from Bound. Where all of it is used up without a plan, [ErrGivenUp] says that
// there may be one all the same. [Planner.Stop] ends any of it.
//
// Power that depends on the history of the battery's temperature is outside
// the model: every charger's curve is fixed beforehand.
//
// # References (from memory)
//
// Montoya, Guéret, Mendoza, Villegas: The electric vehicle routing problem with
// nonlinear charging function. Transportation Research Part B 103 (2017):
// charging time as a function of SoC, fixed routes with charging decisions.
// Baum, Dibbelt, Gemsa, Wagner, Zündorf: Shortest feasible paths with charging
// stops for battery electric vehicles. Transportation Science 53 (2019): labels
// that stand for a whole charging function. Froger, Mendoza, Jabali, Laporte:
// Improved formulations and algorithmic components for the electric vehicle
// routing problem with nonlinear charging functions. Computers & Operations
// Research 104 (2019): fixed-route vehicle-charging by labels. Aneja, Nair:
// Bicriteria transportation problem. Management Science 25 (1979): the search
// behind [Pareto].
package stops
