//lint:file-ignore SA1019 Older clients still speak the deprecated v1alpha, so it must go on working.

package server

import (
	"testing"

	reflectionpb "google.golang.org/grpc/reflection/grpc_reflection_v1alpha"
)

func TestReflectionV1Alpha(t *testing.T) {
	b := newBench(t)
	stream, err := reflectionpb.NewServerReflectionClient(b.conn).ServerReflectionInfo(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(&reflectionpb.ServerReflectionRequest{
		MessageRequest: &reflectionpb.ServerReflectionRequest_ListServices{},
	}); err != nil {
		t.Fatal(err)
	}
	resp, err := stream.Recv()
	if err != nil {
		t.Fatal(err)
	}
	if got := len(resp.GetListServicesResponse().GetService()); got != 7 {
		t.Errorf("got %d services, want 7", got)
	}
	if err := stream.CloseSend(); err != nil {
		t.Error(err)
	}
}
