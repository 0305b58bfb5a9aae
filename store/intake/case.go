package intake

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strconv"
	"strings"

	"swardbook/diagnose"
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

// Case is what the engine is asked of one zone: its current readings, those of the whole visit where the zone has none of
// its own, what is known beforehand, and what went before.
func Case(know *knowledge.Loaded, visit store.Visit, property store.Property, zone string, readings []store.Reading, course diagnose.Course) diagnose.Case {
	return diagnose.Case{
		Before:   course.Before,
		Done:     course.Done,
		ID:       visit.ID + "/" + zone,
		Month:    monthOf(visit.Day),
		Context:  contextOf(visit, property),
		Observed: diagnose.Observe(&know.Bundle, Values(know, zone, readings)),
	}
}

// contextOf names only what is known: a condition on something unknown does not hold.
func contextOf(visit store.Visit, property store.Property) map[string]string {
	known := map[string]string{}
	for key, value := range map[string]string{"visit": visit.Why, "system": property.System, "region": property.Region} {
		if value != "" {
			known[key] = value
		}
	}
	return known
}

// monthOf is the month of a day such as "2026-08-27", 0 when it is not one.
func monthOf(day string) int {
	parts := strings.Split(day, "-")
	if len(parts) != 3 {
		return 0
	}
	month, err := strconv.Atoi(parts[1])
	if err != nil || month < 1 || month > 12 {
		return 0
	}
	return month
}

// Values reads the current answers of a zone in the order of the catalogue. What can't be read says nothing.
func Values(know *knowledge.Loaded, zone string, readings []store.Reading) []diagnose.CheckValue {
	own, whole := map[string]string{}, map[string]string{}
	for _, r := range readings {
		switch {
		case !r.Current:
		case r.Zone == zone:
			own[r.Check] = r.Typed
		case r.Zone == "":
			whole[r.Check] = r.Typed
		}
	}
	var values []diagnose.CheckValue
	for _, check := range know.Bundle.Checks {
		typed, ok := own[check.ID]
		if !ok {
			typed, ok = whole[check.ID]
		}
		if !ok {
			continue
		}
		if value, good := readable(check, typed); good && !value.Blank {
			values = append(values, diagnose.CheckValue{Check: check.ID, Value: value})
		}
	}
	return values
}

// readable reads a typed text; false when a problem stands in its way.
func readable(check checks.Check, typed string) (checks.Value, bool) {
	value, problems := checks.Read(check, typed)
	for _, p := range problems {
		if !p.Ask {
			return checks.Value{}, false
		}
	}
	return value, true
}

// inputHash names what a diagnosis rests on: the case and the edition of the knowledge.
func inputHash(c diagnose.Case, edition string) (string, error) {
	text, err := json.Marshal(c)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(append(text, "\n"+edition...))
	return hex.EncodeToString(sum[:]), nil
}
