// Package lots measures the page of lots at the size of a wholesaler: 20,000
// lots and 500,000 entries, 50 lots a page.
//
//	go test -run NONE -bench . -benchtime 50x ./bench/lots
//
// builds the journal in a temporary folder, which takes a minute or two. With
// HOLDFAST_BENCH_DATA set to a folder it is kept there and used again.
package lots
