package main

// unit is what stands at one stall.
type unit struct {
	connectors []connector
}

// connector as the station file writes it: power in kW, most current in A (per
// phase for AC), most voltage in V (line to line for three phases).
type connector struct {
	Type    string  `json:"type"`
	DC      bool    `json:"dc,omitempty"`
	PowerKW float64 `json:"power_kw"`
	MaxA    float64 `json:"max_a"`
	MaxV    float64 `json:"max_v"`
	Phases  int     `json:"phases,omitempty"`
}

func combo(powerKW, amps, volts float64) unit {
	return unit{[]connector{{"CCS2", true, powerKW, amps, volts, 0}}}
}

// twoCables is a large unit with a cable for either combined plug.
func twoCables(powerKW, amps, volts float64) unit {
	return unit{[]connector{{"CCS2", true, powerKW, amps, volts, 0}, {"CCS1", true, powerKW, amps, volts, 0}}}
}

func type2(powerKW, amps, volts float64, phases int) unit {
	return unit{[]connector{{"Type 2", false, powerKW, amps, volts, phases}}}
}

var (
	dc50     = unit{[]connector{{"CCS2", true, 50, 125, 500, 0}, {"CHAdeMO", true, 50, 125, 500, 0}}}
	dc75     = combo(75, 200, 920)
	dc100    = combo(100, 250, 920)
	dc150    = combo(150, 400, 920)
	dc150Low = combo(150, 200, 920) // 150 kW only for a pack of 750 V and more
	dc150Two = twoCables(150, 400, 920)
	dc200    = twoCables(200, 500, 920)
	dc250    = twoCables(250, 500, 920)
	dc300    = twoCables(300, 500, 1000)
	dc350    = twoCables(350, 500, 1000)
	chademo  = unit{[]connector{{"CHAdeMO", true, 100, 250, 500, 0}}}
	ac11     = type2(11, 16, 400, 3)
	ac22     = type2(22, 32, 400, 3)
)

// stalls is how many units of which kind a site has. With pairKW two
// neighbours share that power.
type stalls struct {
	count  int
	unit   unit
	pairKW float64
}

// site is one row of the table: where it stands (so far past a place on a
// road, so far to the left of it) and what is there.
type site struct {
	name      string
	road      string
	place     string
	pastKm    float64 // along the road, negative before the place
	leftKm    float64 // negative to the right
	operator  string
	stalls    stalls
	price     string // a key of prices
	amenities string // separated by ";"
	access    string // "" public
	status    string // "" operating
	hours     string // "" 24/7
	sharedKW  float64
	firstDown bool // the first stall is out of order
	note      string
}

const (
	board    = "Orrelund Road Board"
	strand   = "Strand and Moor Stations"
	coop     = "Tharn Upland Cooperative"
	quay     = "Pellavane Quay Trust"
	works    = "Velmouth Town Works"
	houses   = "Kelderwick Roadhouses"
	corrowen = "Corrowen Streets and Squares"
)

var sites = []site{
	// Road 1, from the west: plain and motorway.
	{name: "Velmouth Quay Street", road: "pass", place: "Velmouth", pastKm: 0.8, leftKm: 0.1, operator: works, stalls: stalls{6, ac22, 0}, price: "town ac", amenities: "cafe;shop"},
	{name: "Velmouth Market Hall", road: "pass", place: "Velmouth", pastKm: 2.4, leftKm: -0.3, operator: works, stalls: stalls{2, dc50, 0}, price: "by the minute", amenities: "shop;toilets", note: "Priced by the minute: dear for a car that charges slowly."},
	{name: "Velmouth Gate", road: "pass", place: "Velmouth", pastKm: 6.5, leftKm: 0.1, operator: board, stalls: stalls{4, dc150, 0}, price: "road board", amenities: "toilets"},
	{name: "Saltpan Farm", road: "pass", place: "Velmouth", pastKm: 18, leftKm: 3.2, operator: coop, stalls: stalls{2, dc75, 0}, price: "cooperative", amenities: "cafe"},
	{name: "Reedbank", road: "pass", place: "Velmouth", pastKm: 31, leftKm: -0.1, operator: board, stalls: stalls{6, dc150, 0}, price: "road board", amenities: "toilets;picnic area"},
	{name: "Ostrey Town Hall", road: "pass", place: "Ostrey", leftKm: -1.8, operator: works, stalls: stalls{4, ac22, 0}, price: "town ac", amenities: "shop"},
	{name: "Ostrey Roadhouse", road: "pass", place: "Ostrey", pastKm: 1, leftKm: 0.12, operator: houses, stalls: stalls{8, dc250, 0}, price: "roadhouse", amenities: "restaurant;toilets;playground"},
	{name: "Ostrey Bus Depot", road: "pass", place: "Ostrey", pastKm: 2.6, leftKm: -0.9, operator: works, stalls: stalls{10, dc150, 0}, price: "", access: "private", note: "Buses only."},
	{name: "Fern Lane Garage", road: "pass", place: "Ostrey", pastKm: 14, leftKm: 0.2, operator: coop, stalls: stalls{1, dc50, 0}, price: "cooperative", amenities: "shop"},
	{name: "Millbeck", road: "pass", place: "Ostrey", pastKm: 33, leftKm: 0.1, operator: board, stalls: stalls{4, dc200, 0}, price: "road board", amenities: "toilets;shop"},
	{name: "Heron Park", road: "pass", place: "Ostrey", pastKm: 47, leftKm: 2.6, operator: strand, stalls: stalls{2, dc100, 0}, price: "strand", amenities: "picnic area"},
	{name: "Kelderwick West", road: "pass", place: "Kelderwick", pastKm: -5, leftKm: 0.1, operator: board, stalls: stalls{4, dc150, 0}, price: "road board", amenities: "toilets"},
	{name: "Kelderwick Roadhouse", road: "pass", place: "Kelderwick", pastKm: 0.4, leftKm: -0.12, operator: houses, stalls: stalls{6, dc300, 300}, price: "roadhouse", amenities: "restaurant;hotel;toilets;playground", note: "Each pair of stalls shares 300 kW."},
	{name: "Kelderwick Station Yard", road: "pass", place: "Kelderwick", leftKm: 2.2, operator: houses, stalls: stalls{8, ac22, 0}, price: "town ac", amenities: "cafe"},
	{name: "Kelderwick Picture House", road: "pass", place: "Kelderwick", pastKm: 1.5, leftKm: -2.9, operator: houses, stalls: stalls{4, dc50, 0}, price: "idle fee", amenities: "cafe;toilets"},
	{name: "Long Acre", road: "pass", place: "Kelderwick", pastKm: 18, leftKm: 0.1, operator: board, stalls: stalls{2, dc150, 0}, price: "road board", amenities: "toilets"},
	{name: "Marl Cross Inn", road: "pass", place: "Marl Cross", leftKm: 0.3, operator: coop, stalls: stalls{1, dc50, 0}, price: "cooperative", amenities: "restaurant;hotel", note: "Slow, and right beside the road."},
	{name: "Marl Cross North", road: "pass", place: "Marl Cross", pastKm: 0.8, leftKm: 0.12, operator: strand, stalls: stalls{8, dc350, 0}, price: "strand", amenities: "toilets", status: "closed", note: "Closed for good."},
	{name: "Marl Hill", road: "pass", place: "Marl Cross", pastKm: 2, leftKm: -3.4, operator: strand, stalls: stalls{6, dc350, 0}, price: "strand", amenities: "restaurant;toilets", note: "Fast, and a detour."},
	{name: "Marl Cross East", road: "pass", place: "Marl Cross", pastKm: 8, leftKm: 0.1, operator: works, stalls: stalls{2, chademo, 0}, price: "by the minute", amenities: "toilets", note: "CHAdeMO only."},

	// The way up, the pass and the way down.
	{name: "Whinfield", road: "pass", place: "Marl Cross", pastKm: 22, leftKm: 0.1, operator: strand, stalls: stalls{4, dc150, 0}, price: "by the hour of day", amenities: "restaurant;toilets;shop"},
	{name: "Tharn Foot Lower Yard", road: "pass", place: "Tharn Foot", pastKm: -3, leftKm: -0.1, operator: coop, stalls: stalls{2, dc100, 100}, price: "cooperative", note: "Two stalls share 100 kW."},
	{name: "Tharn Foot Dairy", road: "pass", place: "Tharn Foot", pastKm: 0.2, leftKm: 0.1, operator: coop, stalls: stalls{2, dc50, 0}, price: "cooperative", amenities: "cafe;shop", hours: "Mo-Su 08:00-20:00"},
	{name: "Tharn Foot Guesthouses", road: "pass", place: "Tharn Foot", pastKm: 0.3, leftKm: -0.3, operator: coop, stalls: stalls{4, ac11, 0}, price: "town ac", amenities: "hotel;restaurant", access: "customers"},
	{name: "Tharn Foot Cable Car", road: "pass", place: "Tharn Foot", pastKm: 1.2, leftKm: 1.2, operator: board, stalls: stalls{4, dc200, 0}, price: "road board", status: "planned"},
	{name: "Tharn Pass Lodge", road: "pass", place: "Tharn Pass", leftKm: 0.1, operator: coop, stalls: stalls{1, dc50, 0}, price: "cooperative", amenities: "restaurant;hotel;toilets", hours: "Apr-Oct Mo-Su 09:00-18:00; Nov-Mar Sa-Su 10:00-16:00"},
	{name: "Grethel Bridge", road: "pass", place: "Grethel Bridge", pastKm: 0.5, leftKm: 0.1, operator: coop, stalls: stalls{2, dc100, 0}, price: "cooperative", amenities: "cafe;toilets"},
	{name: "Grethel Mill", road: "pass", place: "Grethel Bridge", pastKm: 1.5, leftKm: -1.4, operator: coop, stalls: stalls{3, ac11, 0}, price: "town ac", amenities: "hotel"},
	{name: "Sedder Valley", road: "pass", place: "Grethel Bridge", pastKm: 17, leftKm: 0.1, operator: board, stalls: stalls{4, dc150Low, 0}, price: "road board", amenities: "toilets;picnic area", note: "150 kW on the sign, 200 A in the cable."},
	{name: "Yarrel Lake", road: "pass", place: "Yarrel", pastKm: -6, leftKm: -0.12, operator: strand, stalls: stalls{6, dc350, 0}, price: "strand", amenities: "restaurant;toilets;playground"},
	{name: "Yarrel Town", road: "pass", place: "Yarrel", pastKm: 0.6, leftKm: -1.1, operator: coop, stalls: stalls{6, ac22, 0}, price: "town ac", amenities: "shop;cafe"},
	{name: "Yarrel East", road: "pass", place: "Yarrel", pastKm: 5, leftKm: 0.1, operator: board, stalls: stalls{4, dc150, 0}, price: "road board", amenities: "toilets", firstDown: true},
	{name: "Moss Side", road: "pass", place: "Yarrel", pastKm: 21, leftKm: 2, operator: coop, stalls: stalls{2, dc75, 0}, price: "cooperative"},
	{name: "Three Barns", road: "pass", place: "Yarrel", pastKm: 38, leftKm: 0.1, operator: board, stalls: stalls{4, dc200, 0}, price: "road board", amenities: "toilets;shop"},
	{name: "Lowen Moor", road: "pass", place: "Lowen Strand", pastKm: -11, leftKm: -3.8, operator: strand, stalls: stalls{2, dc150, 0}, price: "strand"},

	// Down the coast and to the end.
	{name: "Lowen Promenade", road: "pass", place: "Lowen Strand", leftKm: 0.2, operator: quay, stalls: stalls{2, dc50, 0}, price: "idle fee", amenities: "cafe;toilets"},
	{name: "Lowen Strand", road: "pass", place: "Lowen Strand", pastKm: 5, leftKm: -0.1, operator: board, stalls: stalls{4, dc150, 0}, price: "road board", amenities: "toilets"},
	{name: "Gull Point", road: "pass", place: "Lowen Strand", pastKm: 22, leftKm: 0.2, operator: quay, stalls: stalls{2, dc50, 0}, price: "idle fee", amenities: "picnic area"},
	{name: "Samphire Bay", road: "pass", place: "Lowen Strand", pastKm: 36, leftKm: -0.1, operator: strand, stalls: stalls{2, dc100, 0}, price: "strand", amenities: "cafe;toilets"},
	{name: "Cockle Row", road: "pass", place: "Lowen Strand", pastKm: 53, leftKm: -0.1, operator: strand, stalls: stalls{2, dc150, 0}, price: "strand"},
	{name: "Pellavane Quay", road: "pass", place: "Pellavane", leftKm: 0.3, operator: quay, stalls: stalls{4, dc150, 0}, price: "idle fee", amenities: "restaurant;shop;toilets", sharedKW: 400},
	{name: "Pellavane Fish Market", road: "pass", place: "Pellavane", pastKm: 0.9, leftKm: 0.3, operator: quay, stalls: stalls{6, ac22, 0}, price: "town ac", amenities: "shop;cafe"},
	{name: "Pellavane South", road: "pass", place: "Pellavane", pastKm: 5.6, leftKm: -0.1, operator: board, stalls: stalls{4, dc300, 0}, price: "road board", amenities: "toilets;shop"},
	{name: "Tidewell", road: "pass", place: "Pellavane", pastKm: 21, leftKm: -1.6, operator: quay, stalls: stalls{1, dc50, 0}, price: "idle fee"},
	{name: "Dune Park", road: "pass", place: "Pellavane", pastKm: 34, leftKm: 0.1, operator: strand, stalls: stalls{4, dc100, 0}, price: "strand", amenities: "playground;toilets"},
	{name: "Signal Hill", road: "pass", place: "Pellavane", pastKm: 50, leftKm: -0.1, operator: board, stalls: stalls{4, dc150, 0}, price: "road board", amenities: "toilets"},
	{name: "Quarrel Head Light", road: "pass", place: "Quarrel Head", leftKm: 0.5, operator: quay, stalls: stalls{2, dc50, 0}, price: "idle fee", amenities: "cafe"},
	{name: "Quarrel Roadhouse", road: "pass", place: "Quarrel Head", pastKm: 6, leftKm: 0.12, operator: houses, stalls: stalls{6, dc250, 0}, price: "roadhouse", amenities: "restaurant;toilets;playground"},
	{name: "Brack Wood", road: "pass", place: "Quarrel Head", pastKm: 27, leftKm: -2.4, operator: coop, stalls: stalls{2, dc150, 0}, price: "cooperative"},
	{name: "Hay Bridge", road: "pass", place: "Quarrel Head", pastKm: 43, leftKm: 0.1, operator: board, stalls: stalls{4, dc150, 0}, price: "road board", amenities: "toilets;picnic area"},
	{name: "Corrowen Ring West", road: "pass", place: "Corrowen", pastKm: -9, leftKm: -0.1, operator: strand, stalls: stalls{8, dc350, 0}, price: "strand", amenities: "restaurant;toilets"},
	{name: "Corrowen Gardens Hotel", road: "pass", place: "Corrowen", pastKm: -2, leftKm: 0.3, operator: corrowen, stalls: stalls{4, ac11, 0}, price: "town ac", amenities: "hotel;restaurant", access: "customers"},
	{name: "Corrowen Station Square", road: "pass", place: "Corrowen", pastKm: -1, leftKm: -0.2, operator: corrowen, stalls: stalls{10, ac22, 0}, price: "town ac", amenities: "shop;cafe;toilets"},
	{name: "Corrowen Harbour", road: "pass", place: "Corrowen", pastKm: -0.3, leftKm: 0.3, operator: corrowen, stalls: stalls{4, dc75, 0}, price: "by the minute", amenities: "restaurant"},

	// Road 2, across the uplands.
	{name: "Dunmarrow Station", road: "upland", place: "Dunmarrow", pastKm: 0.4, leftKm: 0.2, operator: coop, stalls: stalls{6, ac22, 0}, price: "town ac", amenities: "cafe"},
	{name: "Dunmarrow Market", road: "upland", place: "Dunmarrow", pastKm: 1.8, leftKm: -0.1, operator: coop, stalls: stalls{2, dc100, 0}, price: "cooperative", amenities: "shop;toilets"},
	{name: "Shepherds Cross", road: "upland", place: "Dunmarrow", pastKm: 30, leftKm: 0.1, operator: coop, stalls: stalls{1, dc50, 0}, price: "cooperative"},
	{name: "Brennock Cattle Market", road: "upland", place: "Brennock", pastKm: 0.6, leftKm: 0.1, operator: coop, stalls: stalls{4, dc150, 0}, price: "cooperative", amenities: "restaurant;shop;toilets"},
	{name: "Brennock Mill", road: "upland", place: "Brennock", pastKm: 0.9, leftKm: -0.3, operator: coop, stalls: stalls{2, ac22, 0}, price: "town ac", amenities: "hotel"},
	{name: "Peat Lane", road: "upland", place: "Brennock", pastKm: 31, leftKm: 1.2, operator: coop, stalls: stalls{2, dc50, 0}, price: "cooperative"},
	{name: "Hollin Gate", road: "upland", place: "Hollin Gate", pastKm: 0.3, leftKm: 0.1, operator: coop, stalls: stalls{2, dc100, 0}, price: "cooperative", amenities: "cafe;toilets"},
	{name: "Hollin Gate Inn", road: "upland", place: "Hollin Gate", pastKm: 0.5, leftKm: -0.2, operator: coop, stalls: stalls{2, ac11, 0}, price: "town ac", amenities: "hotel;restaurant", access: "customers"},
	{name: "Upper Sedder", road: "upland", place: "Hollin Gate", pastKm: 33, leftKm: -2.8, operator: strand, stalls: stalls{2, dc150, 0}, price: "strand"},
	{name: "Wyvenholt Square", road: "upland", place: "Wyvenholt", pastKm: 0.3, leftKm: 0.1, operator: coop, stalls: stalls{4, dc150, 300}, price: "cooperative", amenities: "restaurant;shop", note: "Each pair of stalls shares 300 kW."},
	{name: "Wyvenholt Weir", road: "upland", place: "Wyvenholt", pastKm: 1.1, leftKm: -0.3, operator: coop, stalls: stalls{4, ac22, 0}, price: "town ac"},
	{name: "Stone Row", road: "upland", place: "Wyvenholt", pastKm: 31, leftKm: 0.1, operator: coop, stalls: stalls{1, dc50, 0}, price: "cooperative"},
	{name: "Yarrel Upland", road: "upland", place: "Yarrel", pastKm: 3, leftKm: 0.1, operator: strand, stalls: stalls{2, dc100, 0}, price: "strand", amenities: "toilets"},
	{name: "Fennish", road: "upland", place: "Fennish", pastKm: 0.2, leftKm: -0.1, operator: coop, stalls: stalls{2, dc75, 0}, price: "cooperative", amenities: "cafe"},
	{name: "Larch Hill", road: "upland", place: "Fennish", pastKm: 26, leftKm: 0.1, operator: coop, stalls: stalls{2, dc50, 0}, price: "cooperative"},
	{name: "Skarrow Yard", road: "upland", place: "Skarrow", pastKm: -1.6, leftKm: 0.1, operator: strand, stalls: stalls{4, dc150, 0}, price: "strand", amenities: "shop;toilets"},
	{name: "Skarrow Guildhall", road: "upland", place: "Skarrow", pastKm: -0.3, leftKm: -0.2, operator: coop, stalls: stalls{4, ac22, 0}, price: "town ac", amenities: "cafe"},

	// Road 3, round the north: few, and none that is fast on the Long Barrens.
	{name: "Velmouth North", road: "north", place: "Velmouth", pastKm: 20, leftKm: 0.1, operator: board, stalls: stalls{2, dc100, 0}, price: "road board"},
	{name: "Ansgrove", road: "north", place: "Ansgrove", pastKm: 0.5, leftKm: 0.1, operator: board, stalls: stalls{2, dc150, 0}, price: "road board", amenities: "shop;toilets"},
	{name: "Ansgrove Harbour", road: "north", place: "Ansgrove", pastKm: 0.9, leftKm: 0.3, operator: works, stalls: stalls{4, ac22, 0}, price: "town ac"},
	{name: "Kestrel Bay", road: "north", place: "Ansgrove", pastKm: 41, leftKm: 0.1, operator: quay, stalls: stalls{1, dc50, 0}, price: "idle fee"},
	{name: "Norrin Bay", road: "north", place: "Norrin Bay", pastKm: 0.4, leftKm: -0.1, operator: board, stalls: stalls{4, dc150Two, 0}, price: "road board", amenities: "restaurant;toilets"},
	{name: "Norrin Bay Pier", road: "north", place: "Norrin Bay", pastKm: 0.8, leftKm: 0.3, operator: quay, stalls: stalls{4, ac22, 0}, price: "town ac", amenities: "hotel"},
	{name: "Cape Weir", road: "north", place: "Cape Weir", pastKm: -1.8, leftKm: -0.1, operator: board, stalls: stalls{2, dc150Two, 0}, price: "road board", amenities: "toilets", note: "The last fast charger before the Long Barrens."},
	{name: "Cape Weir Keepers House", road: "north", place: "Cape Weir", pastKm: 0.4, leftKm: 0.4, operator: quay, stalls: stalls{2, ac11, 0}, price: "town ac", amenities: "hotel", access: "customers"},
	{name: "Long Barrens Hut", road: "north", place: "Long Barrens", leftKm: 0.1, operator: coop, stalls: stalls{2, ac11, 0}, price: "town ac", amenities: "hotel;restaurant"},
	{name: "Hasp Point", road: "north", place: "Hasp Point", pastKm: 0.7, leftKm: 0.1, operator: board, stalls: stalls{2, dc150Two, 0}, price: "road board", amenities: "cafe;toilets"},
	{name: "Easter Sands", road: "north", place: "Hasp Point", pastKm: 62, leftKm: 0.1, operator: quay, stalls: stalls{2, dc50, 0}, price: "idle fee"},
	{name: "Easterlow", road: "north", place: "Easterlow", pastKm: 0.6, leftKm: -0.1, operator: strand, stalls: stalls{4, dc150Two, 0}, price: "strand", amenities: "restaurant;shop;toilets"},
	{name: "Merrin Sound", road: "north", place: "Merrin Sound", pastKm: 0.5, leftKm: -0.1, operator: strand, stalls: stalls{2, dc150Two, 0}, price: "strand", amenities: "cafe"},
	{name: "Tollen", road: "north", place: "Tollen", pastKm: 0.2, leftKm: -0.1, operator: board, stalls: stalls{2, dc100, 0}, price: "road board"},
	{name: "Tollen Moor", road: "north", place: "Tollen", pastKm: 58, leftKm: -0.1, operator: board, stalls: stalls{4, dc200, 0}, price: "road board", amenities: "toilets"},
	{name: "Halfway Sands", road: "north", place: "Corrowen", pastKm: 52, leftKm: 0.1, operator: quay, stalls: stalls{2, dc75, 0}, price: "idle fee"},
	{name: "Sallow Reach", road: "north", place: "Sallow Reach", pastKm: -1.4, leftKm: 0.1, operator: corrowen, stalls: stalls{2, dc150Two, 0}, price: "by the minute", amenities: "restaurant;toilets"},
	{name: "Sallow Reach Ferry", road: "north", place: "Sallow Reach", pastKm: -0.4, leftKm: 0.2, operator: corrowen, stalls: stalls{4, ac22, 0}, price: "town ac", amenities: "cafe"},
}
