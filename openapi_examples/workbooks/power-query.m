// Checks a table of orders in one call (Excel: Data, Get Data, Blank Query, Advanced Editor; paste, Done).
//
// THIS QUERY HAS NOT BEEN RUN: Power Query runs in Excel for Windows only, and none was at hand. What it sends is the
// request of POST /v1/orders/check-many, and what it reads is its answer; both stand in ../openapi.json and are tested there.
//
// Wanted: a table (Insert, Table) with the name Orders and the columns Reference, R sphere, R cylinder, R axis, L sphere,
// L cylinder, L axis, R PD, L PD, A, B, DBL, ED, Blank, Material, As of; an empty cell is left out. `As of` is text such as
// 2026-11-25. The answer is a new table with decision and reason; if the service cannot be reached, the query shows an error
// and no table from before. Allow the web content with Anonymous when asked.
let
    Service = "http://127.0.0.1:8000",
    Rows = Table.ToRecords(Excel.CurrentWorkbook(){[Name = "Orders"]}[Content]),

    // A record without the members whose cells are empty.
    Given = (record as record) as record =>
        Record.SelectFields(record, List.Select(Record.FieldNames(record), each Record.Field(record, _) <> null)),

    Eye = (row as record, side as text) as record =>
        Given([
            sphere = Record.Field(row, side & " sphere"),
            cylinder = Record.Field(row, side & " cylinder"),
            axis = Record.Field(row, side & " axis")
        ]),

    Order = (row as record) as record =>
        Given([
            reference = if row[Reference] = null then null else Text.From(row[Reference]),
            prescription = [right = Eye(row, "R"), left = Eye(row, "L")],
            pd_mm = Given([right = row[#"R PD"], left = row[#"L PD"]]),
            frame = Given([a_mm = row[A], b_mm = row[B], dbl_mm = row[DBL], ed_mm = row[ED]]),
            lens = Given([material = row[Material], blank_diameter_mm = row[Blank]]),
            as_of = row[#"As of"]
        ]),

    Response = Web.Contents(Service, [
        RelativePath = "v1/orders/check-many",
        Headers = [#"Content-Type" = "application/json", Accept = "application/json"],
        Content = Json.FromValue([orders = List.Transform(Rows, Order)])
    ]),
    Answers = Json.Document(Response)[answers],

    Reason = (one as record) as text =>
        if one[answer] = null
        then one[problem][detail]
        else Text.Combine(
            List.Transform(
                List.Select(one[answer][findings], each _[severity] <> "note"),
                each _[message]
            ),
            " "
        ),

    Result = Table.FromRecords(
        List.Transform(
            Answers,
            each [
                Reference = Rows{_[index]}[Reference],
                Decision = if _[answer] = null then "not readable" else _[answer][decision],
                Why = Reason(_)
            ]
        )
    )
in
    Result
