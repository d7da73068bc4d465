// Package terrain takes elevations from height model tiles that the user has:
// SRTM .hgt files of 1 or 3 arc-seconds, plain, in a zip archive or
// compressed with gzip, one tile or folders of them.
//
// A tile covers one degree by one degree and is named for its south-west
// corner (N42E001.hgt). It holds big-endian 16-bit metres above sea level on
// posts that include all four edges, 3601 or 1201 a side, from north to south
// and west to east; -32768 marks a void.
//
// Between posts the elevation is bilinear. A void among the four posts around
// a place is left out and the weights of the others take its share; where the
// nearest post is a void, or no tile is there, the elevation is unknown (NaN)
// and route.Elevations fills it along the road.
//
// A height model knows the ground, not the road: over a tunnel it shows the
// hill, under a bridge the valley, in a cutting or on a slope the noise of its
// posts. Fill says how far the road would be steeper than a road is.
//
// Any other raster becomes a tile with one line of GDAL, here for 3
// arc-seconds (for 1 arc-second 3601 posts, and half a post of 0.000138889
// degrees around the tile):
//
//	gdal_translate -of SRTMHGT -ot Int16 -r bilinear -outsize 1201 1201 \
//	  -projwin 0.999583333 43.000416667 2.000416667 41.999583333 FILE.tif N42E001.hgt
//
// for a raster in longitude and latitude (EPSG:4326; gdalwarp -t_srs EPSG:4326
// makes it so).
package terrain
