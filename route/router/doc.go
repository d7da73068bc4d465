// Package router asks a road router that the user already has for the road
// between places. Nothing is routed here: a template names a program or an
// HTTP service, its placeholders are filled with the two ends, and the answer
// is read as a route.
//
// A command template is a program and its arguments, for example
//
//	my-router --lon1={from.lon} --lat1={from.lat} --lon2={to.lon} --lat2={to.lat}
//
// No shell sees it: words are parted at blanks, quotation marks ' and " hold a
// word together, and nothing else has a meaning. The program's standard
// output is the route, in any format that package read knows.
//
// A URL template starts with http:// or https://. What follows a '#' is not
// sent; it names the fields of a JSON answer, for example
//
//	http://localhost:8080/way/{from.lonlat}/{to.lonlat}#line=routes.0.geometry&format=polyline6&duration_s=routes.0.seconds
//
// where line is the path to a GeoJSON object or an encoded polyline, format
// says how to read it (gpx, geojson, polyline5 or polyline6; told from the
// content if absent), and duration_s is the path to the driving time in
// seconds. credit is no path but a text, such as credit=OpenStreetMap: whose the
// road data are, to be shown with every plan; without it a GPX answer's
// copyright is taken. A path is member names and list positions (from 0) with dots
// between them. Without line the whole answer is the route.
//
// Placeholders: {from.lon} {from.lat} {to.lon} {to.lat} are degrees;
// {from.lonlat} {to.lonlat} are "lon,lat" and {from.latlon} {to.latlon} are
// "lat,lon". {{ and }} stand for braces. Both ends must occur.
//
// A detour to a station takes three questions of the one template: from a place
// on the road to the station, from it to a place behind, and past it. The
// answers need not be alike both ways. Package trip asks them; see Router.Ways.
//
// A router that answers with another place than was asked for is told by the
// ends of its route: farther than Options.SnapM away is an error, which says
// so where longitude and latitude were exchanged.
package router
