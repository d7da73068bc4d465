// Package stations holds charging sites as open data describes them and finds
// those that serve a route.
//
// The model, from the outside in:
//
//	Site       a place with a name, an operator, opening hours, a price
//	  Stall    one position for one car (an EVSE): it may have several
//	           connectors, and still serves one car at a time
//	    Connector  a plug with its power, current and voltage
//
// What a source does not say stays empty: a power of 0 is "not known", never
// "none", and a power that was filled in from a default carries Assumed. A
// connector name that is not known stays as it was found and can be given a
// meaning by the user (Aliases).
//
// A Set is any collection of sites by number. NewIndex puts an R-tree over a
// Set, and Index.Corridor gives the sites near a line with the chainage of
// each nearest approach:
//
//	        s (site)
//	        │ OffsetM
//	a ──────┴──────────────── b      line, ChainageM grows to the right
//	        ChainageM
//
// Limits: distances are straight across the ground, not along side roads, and
// which carriageway of a divided road a site can be entered from is not in the
// data; Site.Reach and Site.Exit let the user say so.
package stations
