// Package stops is the exact planner of charging stops: numbers in, numbers
// out. Given a road cut into legs, the chargers beside it and the car's power
// at each of them, it finds the stops and departure SoCs with the least total
// time (or money, or both at a stated value of time, or the fewest stops).
//
// It imports nothing that touches files, clocks, randomness, geometry or
// goroutines.
package stops
