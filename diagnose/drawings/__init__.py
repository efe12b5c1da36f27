"""Line pictures of what people can see, made from the short descriptions of the knowledge."""
