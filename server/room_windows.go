package main

import "swardbook/store/intake"

// roomIn is without end here: the disk itself says no.
func roomIn(string) intake.Room { return func() (uint64, error) { return 1 << 62, nil } }
