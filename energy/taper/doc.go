// Package taper holds DC charging power against state of charge and the exact
// time it takes to charge.
//
// A [Curve] is piecewise linear: points, straight lines between them, steps
// where two points share one state of charge. It need not fall everywhere:
// measured curves rise at first, drop in steps and have dips. A [Func] is a
// curve together with a battery, ready for look-ups.
//
// # Time
//
// With capacity E (kWh) and power p(s) (kW) at state of charge s (0..1), the
// time from a to b is
//
//	t(a,b) = 3600 E ∫ ds / p(s)   seconds, s from a to b.
//
// On a piece where p is linear with slope k the integral is closed:
//
//	∫ ds / p(s) = ln(p(b)/p(a)) / k = (b−a)/p(a) · L(k(b−a)/p(a)),   L(u) = ln(1+u)/u, L(0) = 1,
//
// and the inverse is
//
//	b = a + p(a) τ · M(kτ),   τ = t / (3600 E),   M(u) = (eᵘ−1)/u, M(0) = 1.
//
// Both forms are smooth through k = 0, so a flat piece is no special case. A
// table of the time at the start of each piece makes every charging time the
// difference of two look-ups, G(b) − G(a), each in constant time.
//
// # Where no power flows
//
// Power below one watt counts as none. Time does not pass through such a
// place: a state of charge beyond it is out of reach, TimeS gives +Inf and
// SoCAfter stays below it. A sloped piece that ends at zero is approached but
// never finished, because the integral diverges there.
package taper
