// Package home simulates a year of charging at home: a household with one or
// more cars on one feed, their daily distances, a tariff by the hour, and the
// trips of the year with what they charge on the way.
//
// It walks day by day:
//
//	morning   the day's distance, or a trip, is drawn from the battery;
//	          what would break the reserve is charged at a fast charger
//	evening   each car at home charges in the cheapest hours of its stay,
//	          first what the next day needs, then up to its target,
//	          within its own circuit and what the feed leaves
//
// Energy closes: what the batteries held on 1 January, plus what was charged,
// is what was driven plus what they hold at the end (Result.ImbalanceKWh).
//
// Circuit figures are arithmetic, not a design: see energy.ElectricianDecides.
package home
