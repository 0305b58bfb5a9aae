package web

import (
	"net/http"

	"swardbook/store"
	"swardbook/web/route"
)

// safety are the routes of getting in, being seen and being watched.
func (s *server) safety() []route.Route {
	return []route.Route{
		{Method: "GET", Pattern: "/readyz", Audience: route.Anyone, Handler: s.readiness},
		{Method: "GET", Pattern: "/sign-in/code", Audience: route.Anyone, Handler: s.codePage},
		{Method: "POST", Pattern: "/sign-in/code", Audience: route.Anyone, Handler: s.useCode},
	}
}

// ownerRoutes are the owner's pages about the house itself.
func ownerRoutes(d Deps) []route.Route {
	o := d.Desk
	return []route.Route{
		{Method: "GET", Pattern: "/desk/whole", Audience: route.Owner, Handler: o.Whole},
		{Method: "GET", Pattern: "/desk/house", Audience: route.Owner, Handler: o.House},
		{Method: "POST", Pattern: "/desk/house/retention", Audience: route.Owner, Handler: o.Retain},
		{Method: "POST", Pattern: "/desk/house/phones/{device}", Audience: route.Owner, Handler: o.Withdraw},
		{Method: "GET", Pattern: "/desk/audit", Audience: route.Owner, Handler: o.Audit},
		{Method: "POST", Pattern: "/desk/people/{person}/code", Audience: route.Owner, Handler: o.Code},
		{Method: "POST", Pattern: "/desk/people/{person}/sign-out", Audience: route.Owner, Handler: o.SignOutPerson},
		{Method: "POST", Pattern: "/desk/people/{person}/active", Audience: route.Owner, Handler: o.Leave},
	}
}

// readiness says that requests may be sent here: the database answers, takes writes, and the program is not about to end.
func (s *server) readiness(w http.ResponseWriter, r *http.Request) error {
	if s.ready != nil {
		if err := s.ready(r.Context()); err != nil {
			return &store.Error{Kind: store.Busy, Say: "Not ready now.", Err: err}
		}
	}
	if _, err := s.db.Empty(r.Context()); err != nil {
		return &store.Error{Kind: store.Busy, Say: "Not ready now.", Err: err}
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, err := w.Write([]byte("ready\n"))
	return err
}
