// Package web serves journeys: a page, a sheet to print, files and an HTTP API,
// all planned by the code that the command line uses.
//
//	GET  /               the page; all inputs are in the query, so an address is a plan
//	GET  /plan           the part of the page that changes, quickly
//	GET  /further        the same, with what to do if it goes otherwise
//	GET  /sheet          the sheet to print
//	GET  /journey/{format}  the journey as json, geojson, gpx, csv or text
//	POST /routes         a dropped route file
//	POST /api/journey    JSON in, JSON out; GET /api/routes, /api/cars, /openapi.json
//	GET  /healthz, /readyz, /metrics
//
// No request reads or writes a file, and no page asks anything of another
// host, unless the user has set an address for map pictures.
package web
