package sqlite

import (
	"fmt"
	"strconv"
	"time"
)

// stampOf is the merging stamp: the phone's hybrid clock set right by the skew of its push, and never later than the
// receipt, so that a fast clock can't win for ever. It sorts as text: 12 hex digits of milliseconds, then the clock's
// counter and tail. A clock that can't be read counts as made at the receipt.
func stampOf(hlc string, skew time.Duration, received time.Time) string {
	ms, rest, ok := splitHLC(hlc)
	now := max(received.UnixMilli(), 0)
	if !ok {
		return stampAt(received)
	}
	return fmt.Sprintf("%012x%s", max(min(ms+skew.Milliseconds(), now), 0), rest)
}

// afterStamp keeps a phone's stamps in the order of its numbers: each push has its own skew, with the time its request was
// on the way in it, so rows made within that time of each other may come out of two pushes the wrong way round.
func afterStamp(stamp, last string) string {
	ms, rest, ok := splitHLC(last)
	if stamp > last || !ok {
		return stamp
	}
	counter, err := strconv.ParseUint(rest[1:5], 16, 16)
	if err != nil || counter == 0xffff {
		return last
	}
	return fmt.Sprintf("%012x-%04x%s", ms, counter+1, rest[5:])
}

// stampAt is the first stamp of a moment.
func stampAt(at time.Time) string { return fmt.Sprintf("%012x-0000-0000", max(at.UnixMilli(), 0)) }

// splitHLC reads 12 hex digits of milliseconds, and leaves the counter and the tail as they are.
func splitHLC(hlc string) (ms int64, rest string, ok bool) {
	if len(hlc) != 22 || hlc[12] != '-' || hlc[17] != '-' {
		return 0, "", false
	}
	for i := range len(hlc) {
		if c := hlc[i]; i != 12 && i != 17 && (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return 0, "", false
		}
	}
	ms, err := strconv.ParseInt(hlc[:12], 16, 64)
	return ms, hlc[12:], err == nil
}
