// Package api is the service's edge on the network: HTTP in, use cases of package shop, HTTP out.
// Nothing of the web framework is seen outside it.
//
//	Server    listens, and stops without dropping anything (server.go)
//	API       the routes as an http.Handler (api.go); the list in routes.go is the only one
//	exchange  one request and its answer: its id, its shop (exchange.go)
//	problem   every answer of 400 and above, made from one table (problem.go, refusal.go)
//	wire      the JSON of every other answer (wire.go)
//
// What a request carries is bounded before it is looked at: head, body, time, and how many bodies
// are in hand at once, in all and per shop (middleware.go, body.go). Bodies are handed to the use
// cases as raw bytes; package document reads them. Package openapi holds the contract that all
// this keeps to.
package api
