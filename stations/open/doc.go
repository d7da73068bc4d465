// Package open reads charging sites as they are published: one file a format,
// the format found from the content, .gz and .zst read directly.
//
//	sites, report, err := open.Read(file, "stations.csv", open.Options{})
//
// Records that cannot be used are rejected one by one and listed in the Report
// with their place and reason; what is used but odd is listed as a suspect. An
// error is returned only where the syntax is broken, a limit is passed or
// nothing usable is left. No plug and no power is ever invented: what a source
// does not say stays empty, and the only default (AssumedKW, for the United
// States table, which has no power at all) is marked on each connector.
//
// # Formats
//
//   - this project's own CSV and GeoJSON (below)
//   - OCPI 2.2.1 and 2.3.0 Locations: a list, a page with "data", one object
//   - OpenStreetMap amenity=charging_station: GeoJSON and JSON as Overpass
//     exports them, .osm XML, .osm.pbf
//   - the United States alternative fuel stations table, CSV and GeoJSON
//   - the French national static register, schema 2.3, CSV
//   - any other CSV through a column map (Map)
//
// # Own CSV
//
// UTF-8, a header row, columns in any order. One row is one kind of connector
// at one site; rows with the same id (or, without ids, the same name, lon and
// lat) are one site. Unknown columns are named in the report and left out.
//
//	id,name,lon,lat,connector,power_kw,stalls
//	a1,Mill Bridge,-31.20,44.10,CCS2,150,4
//	a1,Mill Bridge,-31.20,44.10,Type 2,22,2
//
// Required: lon and lat (WGS 84 degrees). Empty means "not known".
//
//	id name operator network address   text
//	phone                              a telephone number
//	country zone                       ISO 3166-1 alpha-2; IANA time zone
//	lon lat                            degrees
//	connector                          trade name or token: CCS2, J3400, ...
//	current                            ac or dc; needed for J3400 up to 44 kW
//	power_kw max_a max_v phases        most power, amps, volts (line to line)
//	stalls                             how many such stalls, 1 if empty
//	stall                              name of one stall: rows of a site with
//	                                   the same name are connectors of one stall
//	group group_kw                     stalls with one group number share its kW
//	shared_kw                          most the whole site can give
//	access                             public, customers, private
//	status                             operating, planned, closed, out_of_order
//	hours                              OpenStreetMap opening_hours, local time
//	currency per_kwh per_minute session_fee idle_per_minute idle_after_minutes
//	                                   price; currency is an ISO 4217 code
//	amenities                          words separated by ";"
//	updated                            2026-05-01 or an RFC 3339 time
//	source licence note                text
//	reach                              directions of travel that can drive in: "N;NE" or degrees
//	exit_lon exit_lat                  where the driver leaves the main road
//	detour_m detour_s                  off the road and back, if not to be measured
//
// # Own GeoJSON
//
// A FeatureCollection of Points (RFC 7946). The properties are the fields of
// stations.Site under their JSON names, where a stall may carry "count" for
// several alike; or, for the simple case, the columns connector, power_kw,
// current and a number of stalls.
//
//	{"type": "FeatureCollection", "features": [
//	  {"type": "Feature", "id": "a1",
//	   "geometry": {"type": "Point", "coordinates": [-31.20, 44.10]},
//	   "properties": {"name": "Mill Bridge", "hours": "24/7",
//	     "stalls": [{"count": 4, "connectors": [
//	       {"type": "CCS2", "power_kw": 150}, {"type": "CHAdeMO", "power_kw": 50}]}]}},
//	  {"type": "Feature", "id": "a2",
//	   "geometry": {"type": "Point", "coordinates": [-31.45, 44.02]},
//	   "properties": {"name": "Ford Inn", "connector": "Type 2", "power_kw": 11, "stalls": 2}}]}
//
// # Power
//
// A figure without a unit is in kW. A register that states one power for a
// stall with several plugs means it for those that can carry it: an AC plug
// whose standard ends below the figure keeps an unknown power. Figures that no
// charger has (negative, over 4,000 kW, over 1,000 kW on a plug other than
// MCS) are suspects, and the power is unknown.
//
// # Limits
//
// Reading is a stream: memory holds the sites and one record. Limits has the
// longest record, the deepest nesting, the most records and the highest
// decompression ratio; passing one is an error that wraps ErrRecordTooLong,
// ErrTooDeep, ErrTooMany or ErrRatio.
package open
