package skidrule_test

import (
	"context"
	"errors"
	"fmt"
	"net"
	"time"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// listen starts a server on a free port of this machine, as `skidrule serve` does.
func listen() (address string, stop func()) {
	e, err := engine.New()
	if err != nil {
		panic(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		panic(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- service.New(e, service.Options{Limits: service.DefaultLimits(), StopTime: time.Second}).Serve(ctx, listener)
	}()
	return listener.Addr().String(), func() {
		cancel()
		<-done
	}
}

// A design with a finding is an answer; one that cannot be read is an error that says what is wrong with which element.
func Example() {
	address, stop := listen()
	defer stop()
	client, err := skidrule.Dial(address)
	if err != nil {
		panic(err)
	}
	defer client.Close()

	design := &skidrulev1.Design{
		Name: "one valve",
		Components: []*skidrulev1.Component{
			{Tag: "CV-1", MaxPressurePaGauge: proto.Float64(1e6), Spec: &skidrulev1.Component_CheckValve{CheckValve: &skidrulev1.CheckValve{}}},
		},
	}
	request := &skidrulev1.CheckDesignRequest{Design: design, Options: &skidrulev1.CheckOptions{Only: []string{"drawing/every-port-connected"}}}
	report, err := client.Check(context.Background(), request)
	if err != nil {
		panic(err)
	}
	for _, f := range report.GetFindings() {
		fmt.Println(f.GetRuleId()+":", f.GetSubject())
	}

	design.Components[0].Part = "nobody/nothing"
	_, err = client.Check(context.Background(), request)
	var invalid *skidrule.InvalidError
	if errors.As(err, &invalid) {
		fmt.Println(invalid.Violations[0].Path)
	}
	// Output:
	// drawing/every-port-connected: components.CV-1.ports.inlet
	// drawing/every-port-connected: components.CV-1.ports.outlet
	// components.CV-1.part
}
