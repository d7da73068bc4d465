package main

// Three corridors and the links between them. A corridor is one road driven
// from end to end; the numbers stand for the seeds of their bends.
var roadPlans = []roadPlan{
	{true, "pass", "1", "Tharn Road", "Velmouth", []stretch{
		{"Ostrey", motorway, 120}, {"Kelderwick", motorway, 130}, {"Marl Cross", motorway, 130},
		{"Tharn Foot", trunk, 100}, {"Tharn Pass", pass, 70}, {"Grethel Bridge", pass, 80},
		{"Yarrel", trunk, 100}, {"Lowen Strand", motorway, 110}, {"Pellavane", coast, 100},
		{"Quarrel Head", coast, 90}, {"Corrowen", motorway, 120},
	}},
	{true, "upland", "2", "Upland Road", "Dunmarrow", []stretch{
		{"Brennock", hill, 90}, {"Hollin Gate", hill, 80}, {"Wyvenholt", hill, 90},
		{"Yarrel", trunk, 100}, {"Fennish", hill, 90}, {"Skarrow", hill, 80},
	}},
	{true, "north", "3", "North Road", "Velmouth", []stretch{
		{"Ansgrove", coast, 100}, {"Norrin Bay", trunk, 100}, {"Cape Weir", coast, 90},
		{"Long Barrens", hill, 90}, {"Hasp Point", hill, 90}, {"Easterlow", coast, 90},
		{"Merrin Sound", coast, 100}, {"Tollen", trunk, 100}, {"Corrowen", trunk, 110},
		{"Sallow Reach", coast, 90},
	}},
	{false, "link-4", "4", "Market Road", "Dunmarrow", []stretch{{"Kelderwick", trunk, 90}}},
	{false, "link-5", "5", "Brennock Road", "Brennock", []stretch{{"Marl Cross", hill, 80}}},
	{false, "link-6", "6", "Harbour Road", "Wyvenholt", []stretch{{"Pellavane", hill, 90}}},
	{false, "link-7", "7", "Skarrow Road", "Skarrow", []stretch{{"Hasp Point", hill, 80}}},
	{false, "link-8", "8", "Low Road", "Skarrow", []stretch{{"Easterlow", trunk, 90}}},
	{false, "link-9", "9", "Ansgrove Road", "Ansgrove", []stretch{{"Ostrey", trunk, 90}}},
}

// drawRoads draws every road.
func drawRoads() []road {
	roads := make([]road, len(roadPlans))
	for i, p := range roadPlans {
		roads[i] = p.draw(uint64(i + 1))
	}
	return roads
}
