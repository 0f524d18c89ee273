"""Small square matrices as lists of rows: as many rows as a step has conditions."""

Vector = list[float]
Matrix = list[Vector]


def dot(one: Vector, other: Vector) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def inverse(matrix: Matrix) -> Matrix:
    """By elimination with the largest pivot. ZeroDivisionError where there is none."""
    size = len(matrix)
    rows = [[*line, *(float(i == j) for j in range(size))] for i, line in enumerate(matrix)]
    for column in range(size):
        pivot = max(range(column, size), key=lambda row: abs(rows[row][column]))
        rows[column], rows[pivot] = rows[pivot], rows[column]
        rows[column] = [value / rows[column][column] for value in rows[column]]
        for row in range(size):
            if row != column:
                factor = rows[row][column]
                rows[row] = [a - factor * b for a, b in zip(rows[row], rows[column], strict=True)]
    return [row[size:] for row in rows]
