-- Columns are text, bigint, double precision and bytea: what both engines read alike.
-- Days and times are ISO text; what is yes or no is 1 or 0.
-- Large values stand last, for SQLite reads a row from its beginning.

create table kitchen (
    kitchen_id text not null,
    settings text not null,
    revision bigint not null,
    primary key (kitchen_id)
);

create table design (
    kitchen_id text not null,
    id text not null,
    name text not null,
    created_at text not null,
    revision bigint not null,
    choices text not null,
    artwork text not null,
    source bytea not null,
    primary key (kitchen_id, id)
);

create table customer_order (
    kitchen_id text not null,
    id text not null,
    title text not null,
    customer text not null,
    n_cookies bigint not null,
    first_handover text not null,
    time_zone text not null,
    invented bigint not null check (invented in (0, 1)),
    removed_on text,
    handed_over_on text,
    revision bigint not null,
    brief text not null,
    kept_plan text,
    primary key (kitchen_id, id)
);

create index open_order on customer_order (kitchen_id, first_handover, id)
    where removed_on is null and handed_over_on is null;

create index past_order on customer_order (kitchen_id, first_handover, id)
    where removed_on is not null or handed_over_on is not null;

create table order_design (
    kitchen_id text not null,
    order_id text not null,
    name text not null,
    design_id text not null,
    primary key (kitchen_id, order_id, name),
    foreign key (kitchen_id, order_id) references customer_order (kitchen_id, id),
    foreign key (kitchen_id, design_id) references design (kitchen_id, id)
);

create index order_design_design on order_design (kitchen_id, design_id);

create table order_event (
    kitchen_id text not null,
    id text not null,
    order_id text not null,
    happened_on text not null,
    kind text not null,
    amount_minor bigint,
    primary key (kitchen_id, id),
    foreign key (kitchen_id, order_id) references customer_order (kitchen_id, id)
);

create index order_event_order on order_event (kitchen_id, order_id);

create table chapter (
    kitchen_id text not null,
    name text not null,
    key text not null,
    document text not null,
    primary key (kitchen_id, name, key)
);
