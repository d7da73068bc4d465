//go:build !race

package testdata

const raced = false
