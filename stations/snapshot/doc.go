// Package snapshot keeps a set of charging sites in one compact file that
// other tools can open: GeoParquet 1.1.0 (https://geoparquet.org), Snappy
// compressed, rows in the order of a Hilbert curve so that neighbours lie
// together.
//
// Columns, one row a site. A null is "the source does not say".
//
//	id, source, licence        text; id and source name the record
//	name, operator, network, address, phone, country, access, status, hours, zone
//	                           text, as in stations.Site; a file without phone is read
//	geometry                   point, WKB, longitude and latitude (OGC:CRS84)
//	stalls                     JSON text: a list of stalls as in stations.Site, each
//	                           with "count" where several in a row are alike
//	stall_ids                  text: the stalls' names in the same order, one a line
//	price                      JSON text: stations.Price
//	amenities                  JSON text: a list of words
//	updated                    text, RFC 3339
//	more                       JSON text: the rest of stations.Site, which few have
//	stall_count, dc_stall_count, power_kw, dc_power_kw, connectors
//	                           worked out from stalls, for other tools; not read
//
// The same sites give the same bytes, in whatever order they come.
//
// A Table holds a snapshot in memory as columns: texts in one block of bytes,
// equal stall layouts and prices once. A Site is put together when asked for.
// Everything is decoded and checked while loading, so that a broken file is
// refused as a whole.
package snapshot
