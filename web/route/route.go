// Package route holds what every HTTP door has in common: the shape of a route, who it is for, and who is asking.
package route

import (
	"context"
	"net/http"

	"swardbook/store"
)

// Audience is the least role that may use a route.
type Audience int

// The audiences, widest first.
const (
	Anyone Audience = iota
	Crew
	Manager
	Owner
)

// String names the audience as the route list prints it.
func (a Audience) String() string { return [...]string{"anyone", "crew", "manager", "owner"}[a] }

// Admits reports whether a person of this role may use a route for a. An empty role is nobody.
func (a Audience) Admits(r store.Role) bool { return r.Rank() >= int(a) }

// Handler answers a request or returns an error, which is answered and logged in one place.
type Handler func(http.ResponseWriter, *http.Request) error

// Route is one line of the route list.
type Route struct {
	Method   string
	Pattern  string
	Audience Audience
	Handler  Handler
}

type personKey struct{}

// WithPerson returns a context that carries who is asking.
func WithPerson(ctx context.Context, p store.Person) context.Context {
	return context.WithValue(ctx, personKey{}, p)
}

// Person returns who is asking; false when nobody is signed in.
func Person(ctx context.Context) (store.Person, bool) {
	p, ok := ctx.Value(personKey{}).(store.Person)
	return p, ok
}
