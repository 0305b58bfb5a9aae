// Package history is the one window out. It reads back what was recorded, thought and decided: the season of a client,
// and the past of one property. A season becomes one table, built once and written in many ways.
package history
