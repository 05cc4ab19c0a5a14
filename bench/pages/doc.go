// Package pages measures what a person waits for: pages of the invented shop,
// the round of 150 tanks, and the list of a wholesaler with 20,000 lots and
// 500,000 entries, each through the server's own handler and beside a bare
// SELECT of the same rows in the same run.
//
//	go test -bench . -benchtime 20x ./bench/pages
//	./bench/pages/start.sh
//
// The script builds the program and measures from its start to the first page,
// with the invented shop loaded. The wholesaler's journal takes a minute or two
// to build; with HOLDFAST_BENCH_DATA set to a folder it is kept there and used
// again.
package pages
