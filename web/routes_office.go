package web

import "swardbook/web/route"

// officeRoutes change and archive what the firm works for.
func officeRoutes(d Deps) []route.Route {
	o := d.Desk
	return []route.Route{
		{Method: "GET", Pattern: "/desk/clients/{client}/change", Audience: route.Manager, Handler: o.ChangeClient},
		{Method: "POST", Pattern: "/desk/clients/{client}/change", Audience: route.Manager, Handler: o.SaveClient},
		{Method: "POST", Pattern: "/desk/clients/{client}/archive", Audience: route.Manager, Handler: o.ArchiveClient},
		{Method: "GET", Pattern: "/desk/properties/{property}/change", Audience: route.Manager, Handler: o.ChangeProperty},
		{Method: "POST", Pattern: "/desk/properties/{property}/change", Audience: route.Manager, Handler: o.SaveProperty},
		{Method: "POST", Pattern: "/desk/properties/{property}/archive", Audience: route.Manager, Handler: o.ArchiveProperty},
		{Method: "GET", Pattern: "/desk/properties/{property}/map", Audience: route.Manager, Handler: o.Map},
		{Method: "POST", Pattern: "/desk/properties/{property}/map", Audience: route.Manager, Handler: o.SaveMap},
		{Method: "GET", Pattern: "/desk/days", Audience: route.Manager, Handler: o.Days},
		{Method: "POST", Pattern: "/desk/days/move", Audience: route.Manager, Handler: o.MoveVisit},
		{Method: "GET", Pattern: "/desk/import", Audience: route.Manager, Handler: o.TakeIn},
		{Method: "POST", Pattern: importPath, Audience: route.Manager, Handler: o.LookAtSheet},
		{Method: "GET", Pattern: "/desk/book.zip", Audience: route.Owner, Handler: o.Book},
		{Method: "GET", Pattern: "/desk/calendar", Audience: route.Manager, Handler: o.Calendar},
		{Method: "POST", Pattern: "/desk/calendar", Audience: route.Manager, Handler: o.MakeCalendar},
		{Method: "GET", Pattern: "/desk/people/{person}/calendar", Audience: route.Owner, Handler: o.Calendar},
		{Method: "POST", Pattern: "/desk/people/{person}/calendar", Audience: route.Owner, Handler: o.MakeCalendar},
		{Method: "GET", Pattern: "/cal/{token}", Audience: route.Anyone, Handler: o.ReadCalendar},
		{Method: "POST", Pattern: "/desk/zones/{zone}/change", Audience: route.Manager, Handler: o.SaveZone},
		{Method: "POST", Pattern: "/desk/zones/{zone}/archive", Audience: route.Manager, Handler: o.ArchiveZone},
		{Method: "GET", Pattern: "/desk/people/{person}/change", Audience: route.Owner, Handler: o.ChangePerson},
		{Method: "POST", Pattern: "/desk/people/{person}/change", Audience: route.Owner, Handler: o.SavePerson},
	}
}
