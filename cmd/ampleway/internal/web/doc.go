// Package web serves trips: a page, a sheet to print, files and an HTTP API,
// all planned by the code that the command line uses.
//
//	GET  /               the page; all inputs are in the query, so an address is a plan
//	GET  /plan           the part of the page that changes, quickly
//	GET  /further        the part that takes longer: what if it goes otherwise
//	GET  /sheet          the sheet to print
//	GET  /trip/{format}  the trip, or visit, as json, geojson, gpx, csv or text
//	POST /routes         a dropped route file
//	POST /api/trip       JSON in, JSON out; GET /api/routes, /api/cars, /openapi.json
//	POST /api/visit      the same for there and back
//	GET  /healthz, /readyz, /metrics
//
// No request reads or writes a file, and no page asks anything of another
// host, unless the user has set an address for map pictures.
package web
