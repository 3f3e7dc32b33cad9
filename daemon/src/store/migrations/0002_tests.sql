-- The other positions, and the direction of the prone knee bend.

INSERT INTO test VALUES
    ('prone-both-hips-rotation'), ('seated-hip-rotation'), ('supine-hanging-hip-rotation'),
    ('supine-90-90-hip-rotation'), ('prone-knee-bend');

INSERT INTO direction VALUES ('flexion');
