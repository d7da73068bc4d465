// Package study runs margins studies: thousands of corridors, every car, every
// winter, and what reserve each of them still allows.
//
//	study file ──► Study ──► corridors × blocks ──► chunks ──► workers ──► results
//
// A case is one plan: a corridor, a car, weather, a speed cap, a confidence,
// which stations are out, a reserve and a state of charge at departure. A block
// is all the cases that share corridor, car, weather and speed, and so one
// trip.Drive: geometry, corridor query and energy along the road are computed
// once for it. Within a block the exact planner runs on numbers alone, and one
// sweep of it answers every departure.
//
// # Study file
//
// YAML; keys that are not listed here are refused. Paths are relative to the
// study file.
//
//	format: ampleway-study-2
//	name: winter                    shown in results
//	corridors: [demo:pass, "routes/*.gpx"]   files, globs, demo:NAME
//	between:                        made corridors: great circles, level, one speed
//	  - {name: west, from: [-150, 41], to: [-148, 42], speed_kmh: 110}
//	stations: [demo, stations.csv]  as the station readers take them
//	aliases: ["TOKEN = j3400"]      what a connector name means
//	cars: [small-hatch, my-car.yaml]
//	temp_c: [20, 0, -15]            an axis: a row of the question, by its key
//	wind_kmh: 30                    one value
//	wind_from_deg: [null, 270]      null: nothing said, where the row may be left out
//	surface: [dry, snow]
//	speed_cap_kmh: [null, 110]
//	confidence_pct: [0, 95]         0: by the estimate alone
//	leave_with_pct: [80, 90, 100]
//	reserve_pct: {from: 0, to: 30, step: 1}
//	outages: {none: true, each: true, random: {down: 2, sets: 10}}
//	cases: [{temp_c: [-20], surface: [snow]}]   instead of the one cross product:
//	                                each entry is one, with the axes it names
//	draws: 0                        simulated trips a case, besides the computed probability
//	seed: 1
//	skip_worst_outage: false
//	build: {every_km: 20, power_kw: [150]}   where one more station helps most
//	request: {wind_kmh: 20}         all else, as for one trip
//
// An axis has the key that its row has everywhere, never a plural, and is a
// value, a list or a range. Every figure, choice and yes-or-no of the question
// can be one, but for what WhyNoAxis says; one that is left out takes the value
// of request.
//
// The reserve of a case holds on the road and on reaching a stop; at the
// destination it is arrive_with_pct or the reserve, whichever is more.
//
// # Outages
//
// Random outages are drawn, for each corridor, among the sites that the car can
// use there. Equal sets are one case, and the case without an outage is there
// once: where few sites serve a corridor there are fewer cases than asked for.
// A draw depends on the seed, the names of corridor and site, and the number of
// the set alone, so that all days meet the same outages, and a study with a
// station more or less still shares most of them.
//
// # Numbers of cases
//
// Corridors are numbered as they are listed, globs in order of their names. The
// cases of a corridor are numbered from 0, the axes in the order car, rows as
// the table of questions has them, confidence, reserve, outage, departure, the
// last fastest. An axis without a column of its own stands in the column asked.
//
// # Results
//
// A run writes a folder: cases.parquet (and cases.csv on request) with a row a
// case, build.geojson, summary.txt, summary.json and, last of all, manifest.json
// with the hashes of all inputs; the command adds report.html (package sheet). Every file appears only when it
// is whole. One run at a time writes to a folder. A corridor that has no station
// at all beside it, and cases that need one, has no data: it is in no share and
// in no ranking but as the last. The same study on the same kind of processor gives the same bytes,
// whatever the number of workers, the interruptions or the parts.
//
// # Past one machine
//
// A part k of n is a fixed share of the corridors, balanced by the size of
// their files. Join puts the parts' results together. No scheduler is built in:
// any that starts one command n times will do.
package study
