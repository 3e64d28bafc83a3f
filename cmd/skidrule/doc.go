// Command skidrule reads the flow diagram of an ozone contact skid, works out what happens in it, and says with evidence
// whether it is safe, fits and works.
//
// A verb is a file: flags, files, exit codes. What it answers comes from engine and answer, in this process or from a server, and how it is
// printed from report; there is no engineering here.
package main
