// Package intake is the one door in. What a phone recorded is decoded, checked, saved and acknowledged, and the zones it
// touches are diagnosed afterwards, off the request. Nothing that a person recorded is refused: what can't be counted is
// stored all the same, set aside with its reason, and listed for its author and the office.
package intake
