// Package fit makes a car out of logs: consumption from logged drives, the
// charging curve from logged DC charges, each figure with its 95 % interval.
// Where the logs do not hold an answer it refuses and says what is missing.
//
// # Logs
//
// A log is a CSV file with a header, one row an instant, usually one a second.
// Columns are named quantity_unit; case and punctuation do not matter, so
// "Battery Current [A]" is battery_current_a. Columns the package does not
// know are passed over, a blank cell is "not recorded":
//
//	time_s        time from any start (needed)
//	speed_kmh     speed (needed for a drive)
//	elevation_m   elevation above the sea; without it the road counts as level
//	battery_v     battery voltage, with
//	battery_a     battery current, negative while discharging; or
//	battery_kw    battery power, negative while discharging
//	soc_pct       state of charge (needed for a charge)
//	heating_kw    electric power of the heater
//	aircon_kw     electric power of the air conditioning
//	ambient_c     outside temperature
//	battery_temp_c battery temperature
//
// ColumnHelp lists every name and unit that is understood.
//
// # From log to estimate
//
// Blanks between two figures of a slow channel are filled in between. Longer
// gaps, and stretches that someone filled with straight lines, cut the drive.
// Elevation is averaged over distance, heating and cooling over 11 s; a heater
// that hangs at one value is not believed. Then the energy of every 20 s of
// driving is compared with what the physics of package energy says:
//
//	battery = factor · (rolling + drag + mass (grade, inertia))⁺ / drive efficiency
//	        − regenerative efficiency · (…)⁻ + auxiliaries + climate as recorded
//
// A factor fit moves the factor and the auxiliaries, a full fit the rolling,
// drag and mass parts, the regenerative efficiency, the auxiliaries and, with
// cold batteries in the log, how much of the regeneration they refuse. Drive
// efficiency stays: only mass over efficiency shows in a log, so the fitted
// mass is an effective one. The estimator is Huber's, so that single wrong
// figures and odd stretches count little.
//
// Everything one drive shares (wind, traffic, load, tyre pressure) is unknown,
// so drives, not seconds, are the sample: intervals count each drive once, and
// the shown errors come from fitting again without each drive in turn.
//
// The fitted car is an estimate from the drives it has seen. Other weather,
// loads and roads move consumption by tens of percent: keep a reserve and
// watch the car's own gauge.
package fit
