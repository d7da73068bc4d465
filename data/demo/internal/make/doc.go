// Command make draws the demo's invented place and writes its data files.
//
//	go generate ./data
//
// The place is Orrelund, an island that does not exist, set down in the open
// North Pacific where the chart shows only water. Its towns, roads, operators,
// stations, prices and weather are invented. Nothing is read: the tables in
// this package and a few seeded sine waves make every byte, so that the same
// source always gives the same files.
//
// Drawing goes left to right: a road is a smooth spine through named places
// (line.go), pushed sideways by the bends of its kind and lifted by a profile
// through the places' elevations (road.go); its travel speed follows from its
// limit and its bends (speed.go); vertices are then picked, closer together
// where it turns (vertex.go). Stations stand beside the finished roads
// (sites.go, station.go), and the same roads with their side roads become the
// OSM extract (osm.go).
package main
