package web

import "swardbook/web/route"

// bookRoutes hand the book on: season records in every form, and what clients get to see.
func bookRoutes(d Deps) []route.Route {
	o := d.Desk
	return []route.Route{
		{Method: "GET", Pattern: "/desk/clients/{client}/season.csv", Audience: route.Manager, Handler: o.SeasonFile},
		{Method: "GET", Pattern: "/desk/clients/{client}/season.json", Audience: route.Manager, Handler: o.SeasonFile},
		{Method: "GET", Pattern: "/desk/clients/{client}/season.xlsx", Audience: route.Manager, Handler: o.SeasonFile},
		{Method: "GET", Pattern: "/desk/clients/{client}/season.pdf", Audience: route.Manager, Handler: o.SeasonFile},
		{Method: "GET", Pattern: "/desk/seasons.zip", Audience: route.Manager, Handler: o.Seasons},
		{Method: "GET", Pattern: "/schemas/season.json", Audience: route.Anyone, Handler: o.SeasonSchema},
		{Method: "GET", Pattern: "/desk/find", Audience: route.Manager, Handler: o.Find},
		{Method: "GET", Pattern: "/desk/clients/{client}/links", Audience: route.Manager, Handler: o.Links},
		{Method: "POST", Pattern: "/desk/clients/{client}/links", Audience: route.Manager, Handler: o.AddLink},
		{Method: "POST", Pattern: "/desk/clients/{client}/links/{link}/revoke", Audience: route.Manager, Handler: o.RevokeLink},
		{Method: "GET", Pattern: "/c/{token}", Audience: route.Anyone, Handler: o.Share},
	}
}
