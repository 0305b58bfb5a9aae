package intake

import (
	"errors"
	"strings"

	"github.com/google/uuid"

	"swardbook/diagnose"
)

// reason says for a person why a zone has no answer.
func (s *Service) reason(err error) string {
	var no *diagnose.Contradiction
	if !errors.As(err, &no) || len(no.Findings) == 0 {
		return "These findings could not be weighed: " + err.Error() + "."
	}
	var names []string
	for _, id := range no.Findings {
		name := id
		if f, ok := s.know().Finding(id); ok {
			name = "“" + f.Label.EN + "”"
		}
		names = append(names, name)
	}
	if len(names) == 1 {
		return names[0] + " can't be true as it stands. Look at it again."
	}
	return strings.Join(names, " and ") + " can't all be true at once. Look at them again."
}

// newID makes an id that sorts by time.
func newID() string { return uuid.Must(uuid.NewV7()).String() }
