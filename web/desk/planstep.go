package desk

import "strconv"

// stepKey names a signed step as records do: the plan and the step's place in it.
func stepKey(plan string, n int) string { return plan + "/" + strconv.Itoa(n) }
