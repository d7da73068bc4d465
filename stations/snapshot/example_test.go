package snapshot_test

import (
	"bytes"
	"fmt"

	"ampleway/stations"
	"ampleway/stations/snapshot"
)

func Example() {
	var file bytes.Buffer
	err := snapshot.Write(&file, stations.Sites{{ID: "a1", Name: "Mill Bridge", Lon: 10.02, Lat: 50.01}})
	if err != nil {
		fmt.Println(err)
		return
	}
	table, err := snapshot.Read(bytes.NewReader(file.Bytes()), int64(file.Len()), "sites.parquet")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(table.Len(), table.Site(0).Name)
	// Output: 1 Mill Bridge
}
