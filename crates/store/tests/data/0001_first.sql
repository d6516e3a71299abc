-- Invented rows for the tables of 0001_first.sql.
-- Bytes are written as SQLite reads them; the tests turn them into what PostgreSQL reads.

insert into kitchen (kitchen_id, settings, revision)
values ('home', 'format = 1', 3);

insert into design (kitchen_id, id, name, source, artwork, choices, created_at, revision)
values
    ('home', 'design-gull', 'gull', x'3c7376672f3e', '{}', 'format = 1', '2026-03-01T09:00:00.000Z', 2),
    ('home', 'design-held', 'held', x'3c7376672f3e', '{}', '', '2026-03-02T09:00:00.000Z', 1);

insert into customer_order (
    kitchen_id, id, title, customer, n_cookies, first_handover, time_zone, invented, brief,
    kept_plan, removed_on, handed_over_on, revision
)
values
    ('home', 'order-open', 'Gulls for a harbor feast', 'Invented Customer', 24,
     '2026-04-10T15:00:00', 'Europe/Berlin', 1, 'format = 1', '{"format":1}', null, null, 4),
    ('home', 'order-past', 'Shells', '', 12,
     '2026-03-20T10:30:00', 'Europe/Berlin', 1, 'format = 1', null, null, '2026-03-20', 2),
    ('home', 'order-removed', 'Anchors', 'Invented Customer', 6,
     '2026-05-01T10:00:00', 'Europe/Berlin', 0, 'format = 1', null, '2026-03-05', null, 2);

insert into order_design (kitchen_id, order_id, name, design_id)
values
    ('home', 'order-open', 'gull', 'design-gull'),
    ('home', 'order-past', 'gull', 'design-gull');

insert into order_event (kitchen_id, id, order_id, happened_on, kind, amount_minor)
values
    ('home', 'event-asked', 'order-open', '2026-03-01', 'asked', null),
    ('home', 'event-deposit', 'order-open', '2026-03-04', 'deposit_paid', 2500);

insert into chapter (kitchen_id, name, key, document)
values ('home', 'cutting', 'a1', '{"format":1}');
